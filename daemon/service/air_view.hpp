#pragma once

#include "daemon/service/workshop.hpp"

namespace setwell::service {

/// One zone for `air`: its last day by hours, its forecast, and what its coats ask of it.
[[nodiscard]] api::AirZone air_zone(Workshop& workshop, const quantity::ZoneId& id, quantity::Instant now);

}  // namespace setwell::service
