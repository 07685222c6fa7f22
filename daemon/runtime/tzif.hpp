#pragma once

#include <optional>
#include <string_view>

#include "sensors/quantity/time_zone.hpp"

namespace setwell::runtime {

/// Reads the bytes of a time-zone file (TZif version 2 or later, RFC 8536): the 64-bit changes, then the rule
/// in its footer written out until `until`. Nothing when the bytes are not whole or not consistent.
[[nodiscard]] std::optional<quantity::TimeZone> parse_tzif(std::string_view name, std::string_view bytes,
                                                           quantity::Instant until);

}  // namespace setwell::runtime
