#pragma once

#include <string_view>

#include "daemon/toml_text/node.hpp"

namespace setwell::toml_text {

/// Longer texts are refused: no sheet and no settings file is a tenth of this.
inline constexpr std::size_t kLargestText = std::size_t{1} << 20;

/// Reads TOML 1.0. A line that breaks the grammar becomes a fault and is left out, and reading goes on with
/// the rest, so that one slip does not hide the next. Never throws; the answer is always a table, empty when
/// nothing could be read.
[[nodiscard]] Node parse(std::string_view text, Report& report);

}  // namespace setwell::toml_text
