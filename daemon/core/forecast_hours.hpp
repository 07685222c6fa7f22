#pragma once

#include <span>

#include "daemon/core/air_history.hpp"
#include "daemon/core/hour_series.hpp"

/// From readings to the hours a forecast learns from.
namespace setwell::core {

/// The mean of the points of the quarter of an hour that ends at `at`, its end included; NaN where it has
/// none. Points in order of time.
[[nodiscard]] float quarter_value(std::span<const AirPoint> points, quantity::Instant at);

/// The mean of the points of the quarter of an hour that ends at `at`, its end included; where that has none,
/// of the newest quarter of the hour before `at` that has any. NaN where the hour has none. Points in order
/// of time.
[[nodiscard]] float value_about(std::span<const AirPoint> points, quantity::Instant at);

/// Both quantities at a full hour.
[[nodiscard]] HourValue hour_value(std::span<const AirPoint> temperature, std::span<const AirPoint> humidity,
                                   HourIndex hour);

}  // namespace setwell::core
