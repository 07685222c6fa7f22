#include "daemon/service/sensor_view.hpp"

#include <algorithm>

#include "sensors/screen/stuck.hpp"

namespace setwell::service {

using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

/// A sensor with less than this still lasts some weeks: time to order a cell.
constexpr double kLittlePercent = 10;
/// A battery is told without a unit. No sensor's cells have more volts than this, so what is more is per
/// cent; what is less than the other is little either way.
constexpr double kMostVolts = 5;
constexpr double kLittleVolts = 2.4;

bool moves(const Workshop& workshop, const Series& other, Instant from, Instant to) {
  std::optional<double> least;
  std::optional<double> most;
  for (const auto& reading : workshop.ledger.trusted(other.number, from, to)) {
    least = std::min(least.value_or(reading.value), reading.value);
    most = std::max(most.value_or(reading.value), reading.value);
  }
  return least && *most - *least >= screen::kNeighbourMoves;
}

}  // namespace

std::optional<Instant> stuck_since(const Workshop& workshop, const Series& series) {
  const auto& state = series.state;
  if (!state.last_good || !state.last_change) return std::nullopt;
  if (*state.last_good - *state.last_change < series.spec().stuck_after) return std::nullopt;
  const auto from = *state.last_good - series.spec().stuck_after;
  const auto& all = workshop.sensors.series();
  const bool another_moves = std::any_of(all.begin(), all.end(), [&](const Series& other) {
    return &other != &series && other.spec().quantity == MeasuredQuantity::air_temperature &&
           moves(workshop, other, from, *state.last_good);
  });
  return another_moves ? state.last_change : std::nullopt;
}

std::optional<double> battery_low(const Series& series) {
  const auto told = series.state.battery;
  if (!told) return std::nullopt;
  const bool per_cent = *told > kMostVolts;
  return *told < (per_cent ? kLittlePercent : kLittleVolts) ? told : std::nullopt;
}

}  // namespace setwell::service
