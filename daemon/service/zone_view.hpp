#pragma once

#include <string_view>

#include "daemon/service/workshop.hpp"

namespace setwell::service {

/// What future times rest on while there is no forecast.
inline constexpr std::string_view kNoForecast =
    "No forecast yet: times ahead take yesterday's same hour, else the last good value";

/// One zone's air now.
[[nodiscard]] api::ZoneNow zone_now(const Workshop& workshop, const quantity::ZoneId& zone,
                                    quantity::Instant now);

}  // namespace setwell::service
