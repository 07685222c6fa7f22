#pragma once

#include <optional>

#include "daemon/service/workshop.hpp"

/// What a channel's own record says of its sensor.
namespace setwell::service {

/// Since when the channel tells one value though another thermometer of the workshop moves.
[[nodiscard]] std::optional<quantity::Instant> stuck_since(const Workshop& workshop, const Series& series);

/// What a sensor tells of its battery, per cent or volts, where that is little.
[[nodiscard]] std::optional<double> battery_low(const Series& series);

}  // namespace setwell::service
