#include "daemon/core/forecast_hours.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

namespace setwell::core {

using quantity::Instant;
using std::chrono::minutes;

namespace {

constexpr minutes kQuarter{15};

/// The points in (from, to].
std::span<const AirPoint> within(std::span<const AirPoint> points, Instant from, Instant to) {
  const auto later = [](Instant t, const AirPoint& p) { return t < p.at; };
  const auto first = std::upper_bound(points.begin(), points.end(), from, later);
  return {first, std::upper_bound(first, points.end(), to, later)};
}

}  // namespace

float quarter_value(std::span<const AirPoint> points, Instant at) {
  const auto told = within(points, at - kQuarter, at);
  if (told.empty()) return std::numeric_limits<float>::quiet_NaN();
  double sum = 0;
  for (const auto& point : told)
    sum += point.value;
  return static_cast<float>(sum / static_cast<double>(told.size()));
}

float value_about(std::span<const AirPoint> points, Instant at) {
  for (int quarter = 0; quarter < 4; ++quarter) {
    const float value = quarter_value(points, at - quarter * kQuarter);
    if (!std::isnan(value)) return value;
  }
  return std::numeric_limits<float>::quiet_NaN();
}

HourValue hour_value(std::span<const AirPoint> temperature, std::span<const AirPoint> humidity,
                     HourIndex hour) {
  return {value_about(temperature, moment_of(hour)), value_about(humidity, moment_of(hour))};
}

}  // namespace setwell::core
