#pragma once

#include <optional>
#include <string_view>

#include "sensors/quantity/time_zone.hpp"

namespace setwell::runtime {

/// Reads a zone by its name in the tz database (`Europe/Berlin`) from $TZDIR or /usr/share/zoneinfo, with its
/// daylight-saving rule written out to 40 years past `from`. `UTC` needs no file. Nothing when the name is
/// not a plain relative path of letters, digits, `_`, `-`, `+` (no `..`, no leading `/`), or when there is no
/// such file, or it is damaged. Offsets are rounded to minutes (only zones before about 1930 have seconds).
/// Thread: any; reads one file and the environment.
[[nodiscard]] std::optional<quantity::TimeZone> load_zone(std::string_view name, quantity::Instant from);

}  // namespace setwell::runtime
