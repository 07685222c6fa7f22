#pragma once

#include "sensors/quantity/instant.hpp"

namespace setwell::core {

/// A trusted value of one quantity (°C or %), with the error it is stated to have.
struct AirPoint {
  quantity::Instant at;
  double value = 0;
  double error = 0;  ///< worst case, same unit, calibration and placement together
  friend bool operator==(const AirPoint&, const AirPoint&) = default;
};

/// The order by time, for searching among sorted points.
[[nodiscard]] inline bool measured_before(const AirPoint& point, quantity::Instant at) {
  return point.at < at;
}
[[nodiscard]] inline bool measured_after(quantity::Instant at, const AirPoint& point) {
  return at < point.at;
}

/// A range that both a value and its error have to keep to; no clock would survive what lies outside.
struct PossibleRange {
  double least, most;
  [[nodiscard]] bool holds(const AirPoint& point) const {
    return point.value >= least && point.value <= most && point.error >= 0 && point.error <= most - least;
  }
};
inline constexpr PossibleRange kPossibleCelsius{-60, 150};
inline constexpr PossibleRange kPossiblePercent{0, 105};

}  // namespace setwell::core
