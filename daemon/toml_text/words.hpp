#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace setwell::toml_text {

/// The word of `words` that is nearest to what was typed, if it is near enough to be a slip of the keyboard
/// or a word cut short.
[[nodiscard]] std::optional<std::string_view> nearest(std::string_view typed,
                                                      const std::vector<std::string_view>& words);
/// "a, b or c".
[[nodiscard]] std::string listed(const std::vector<std::string_view>& words);

}  // namespace setwell::toml_text
