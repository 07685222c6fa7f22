#pragma once

#include <optional>
#include <string_view>

#include "daemon/core/material.hpp"
#include "daemon/toml_text/reader.hpp"

namespace setwell::sheets {

enum class NoLimit { refused, allowed };

/// Reads the times under `key`: one text, which then holds at the reference temperature; a list of
/// `{at, time, where}`; or a table `{times, where}` around either. Rows come out in rising temperature.
/// Nothing when the key is not there or has no good row; each bad row is a fault in the report.
[[nodiscard]] std::optional<core::TimeTable> read_times(toml_text::Table& table, std::string_view key,
                                                        quantity::Celsius reference, NoLimit no_limit);

}  // namespace setwell::sheets
