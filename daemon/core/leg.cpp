#include "daemon/core/leg.hpp"

#include <algorithm>
#include <chrono>

namespace setwell::core {

using quantity::Instant;
using quantity::Seconds;

namespace {

constexpr std::chrono::minutes kSurfaceReadingHolds{30};
// What a maker's "brought in from" may be off by.
constexpr double kPieceFromError = 1.0;

double part(const AirPiece& piece, Instant at) {
  return static_cast<double>((at - piece.from).count()) /
         static_cast<double>((piece.to - piece.from).count());
}

AirLine air_line(const AirPiece& piece, Instant from) {
  const Stretch& t = piece.temperature;
  if (t.silent || t.foretold) return {t.least, t.middle, t.most, 0};
  const double start = t.from + (t.to - t.from) * part(piece, from);
  return {start - t.error, start, start + t.error, (t.to - t.from) / Seconds(piece.to - piece.from).count()};
}

HumidityBounds humidity_bounds(const AirPiece& piece, Instant at) {
  if (!piece.humidity) return kUnknownHumidity;
  const Stretch& h = *piece.humidity;
  if (h.silent || h.foretold) return {h.least, h.middle, h.most};
  return humidity_within(h.from + (h.to - h.from) * part(piece, at), h.error);
}

double between(double a, double b, double f) {
  return a + (b - a) * f;
}

/// A piece brought in at an unknown moment between the fast and the slow start may still be as it came.
void hold_as_brought(const CoatCase& coat, const CoatPlan& plan, Surface& surface, Instant at) {
  if (!coat.coat.made.piece_from || at > plan.slow_start) return;
  const double came = coat.coat.made.piece_from->degrees();
  surface.lower = std::min(surface.lower, came - kPieceFromError);
  surface.upper = std::max(surface.upper, came + kPieceFromError);
}

Surface first_surface(const CoatCase& coat, const AirLine& air) {
  if (!coat.coat.made.piece_from) return {air.lower, air.expected, air.upper};
  const double came = coat.coat.made.piece_from->degrees();
  return {came - kPieceFromError, came, came + kPieceFromError};
}

Surface start_surface(const CoatCase& coat, const CoatPlan& plan, CoatNumbers& numbers, const AirLine& air,
                      Instant from) {
  if (numbers[CoatNumbers::kSurfaceKnown] == 0) {
    numbers[CoatNumbers::kSurfaceKnown] = 1;
    numbers.set_surface(first_surface(coat, air));
  }
  Surface surface = numbers.surface();
  hold_as_brought(coat, plan, surface, from);
  return surface;
}

}  // namespace

Surface Leg::surface_at(const SurfaceSection& section, double s) const {
  Surface out{section.lower.at(s), section.expected.at(s), section.upper.at(s)};
  out.lower = std::min(out.lower, out.expected);
  out.upper = std::max(out.upper, out.expected);
  return out;
}

RateFactors Leg::factors(const Surface& surface, double s) const {
  if (!humidity_matters) return {};
  const double f = s / std::max(seconds(), 1e-3), rise = air.slope * s;
  AirAtPiece at;
  at.surface_c = {surface.lower, surface.expected, surface.upper};
  at.air_c = {air.lower + rise, air.expected + rise, air.upper + rise};
  at.humidity = {between(humidity_from.least, humidity_to.least, f),
                 between(humidity_from.middle, humidity_to.middle, f),
                 between(humidity_from.most, humidity_to.most, f)};
  return humidity_factors(family, at, reference_humidity);
}

Leg leg_of(const CoatCase& coat, const CoatPlan& plan, CoatNumbers& numbers, const AirPiece& piece,
           const SurfaceSource& surface, Instant from, Instant to) {
  Leg leg;
  leg.from = from;
  leg.to = to;
  leg.air = air_line(piece, from);
  leg.family = coat.material->family;
  leg.reference_humidity = coat.material->reference_humidity;
  leg.humidity_matters = plan.humidity_matters;
  leg.humidity_from = humidity_bounds(piece, from);
  leg.humidity_to = humidity_bounds(piece, to);
  const Surface start = start_surface(coat, plan, numbers, leg.air, from);
  if (const auto measured = measured_surface(coat, surface, from)) {
    leg.probe = true;
    leg.probe_error = measured->error;
    leg.sections = measured_sections(
        {measured->celsius - measured->error, measured->celsius, measured->celsius + measured->error},
        measured->slope, leg.seconds());
  } else {
    leg.sections = follow_air(start, leg.air, plan.tau_s, leg.seconds());
  }
  leg.blind = piece.temperature.silent && !leg.probe;
  leg.humidity_blind = plan.humidity_matters && piece.humidity && piece.humidity->silent;
  leg.humidity_assumed = plan.humidity_matters && !piece.humidity;
  leg.expected_runs = from >= plan.expected_start;
  const bool stands_still =
      (leg.blind && !piece.temperature.closed) || (plan.covered && from >= *plan.covered);
  leg.slow_runs = from >= plan.slow_start && !stands_still;
  return leg;
}

std::optional<double> measured_at(const Stretch& stretch, const AirPiece& piece, Instant at) {
  if (stretch.silent) return std::nullopt;
  if (stretch.foretold) return stretch.middle;
  return stretch.from + (stretch.to - stretch.from) * part(piece, at);
}

std::optional<air::DewMargin> dew_margin_at(const AirPiece& piece, Instant at, const Surface& surface,
                                            const std::optional<double>& probe_error) {
  if (!piece.humidity) return std::nullopt;
  const auto air_c = measured_at(piece.temperature, piece, at);
  const auto rh = measured_at(*piece.humidity, piece, at);
  if (!air_c || !rh) return std::nullopt;
  const auto air = quantity::Celsius::from(*air_c);
  const auto humidity = quantity::RelativeHumidity::from_percent(*rh);
  // The bound holds the sensor's error already; dew_margin adds it at its own worst end.
  const double own_error = probe_error.value_or(piece.temperature.error);
  const auto beside = quantity::Celsius::from(std::min(surface.lower + own_error, surface.expected));
  if (!air || !humidity || !beside) return std::nullopt;
  const air::AirErrors errors{quantity::CelsiusDelta(piece.temperature.error), piece.humidity->error};
  const auto from = probe_error ? air::SurfaceFrom::separate_probe : air::SurfaceFrom::same_sensor;
  return air::dew_margin(*air, *humidity, *beside, errors, from, quantity::CelsiusDelta(own_error));
}

std::optional<MeasuredSurface> measured_surface(const CoatCase& coat, const SurfaceSource& surface,
                                                Instant at) {
  std::optional<MeasuredSurface> found;
  if (surface.history != nullptr) found = surface.history->over(at, surface.seen, surface.past);
  if (found) return found;
  for (const Event<HandReading>& reading : coat.surface_readings) {
    if (reading.happened > at) break;
    if (!reading.body.surface || at >= reading.happened + kSurfaceReadingHolds) continue;
    found = MeasuredSurface{reading.body.surface->degrees(), reading.body.temperature_error.kelvin(), 0};
  }
  return found;
}

}  // namespace setwell::core
