#pragma once

#include <cstddef>
#include <iosfwd>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// Questions to a person at a terminal.
namespace setwell::cli {

/// Shows the choices, numbered from 1, and reads a number; an empty line takes the first. Answers its index;
/// nothing at the end of input, or after three answers that are none.
[[nodiscard]] std::optional<std::size_t> choose(std::istream& in, std::ostream& out,
                                                std::string_view question,
                                                const std::vector<std::string>& choices);

/// y or n; an empty line and whatever else are a no.
[[nodiscard]] bool confirm(std::istream& in, std::ostream& out, std::string_view question);

}  // namespace setwell::cli
