#include "daemon/core/drying.hpp"

#include <algorithm>
#include <cmath>

#include "sensors/air/saturation.hpp"

namespace setwell::core {
namespace {

constexpr double kUnstatedHumidity = 50.0;
constexpr double kFallingRateFrom = 0.2;  // films dry almost alike while 1 - φ exceeds this
constexpr double kLeastPower = 0.5;
constexpr double kMostPower = 1.0;
constexpr double kThinnest = 0.25;
constexpr double kThickest = 4.0;
constexpr double kUmPerMm = 1000.0;
constexpr double kSlowPotDepthMm = 6.5;
constexpr double kFastPotDepthMm = 2.7;
constexpr double kLeastIsothermalShare = 0.2;

double in_percent(std::optional<quantity::RelativeHumidity> reference) {
  // A row measured in saturated air would make every factor infinite; nobody measures there.
  return reference ? std::clamp(reference->in_percent(), 5.0, 95.0) : kUnstatedHumidity;
}

/// A bound that the expected clock passes gives way; the expected one keeps to its own formula.
RateFactors ordered(RateFactors f) {
  f.slow = std::min(f.slow, f.expected);
  f.fast = std::max(f.fast, f.expected);
  return f;
}

/// h for one surface and vapour pressure.
double relative_drying(double surface_c, double vapour, double reference_percent) {
  const double at_surface = vapour / air::water_saturation_pa(surface_c);
  return std::max(0.0, (1.0 - at_surface) / (1.0 - reference_percent / 100.0));
}

RateFactors water_borne_factors(const AirAtPiece& at, double reference) {
  const double dampest = air::vapour_pa(at.air_c.slow + at.apart_k, at.humidity.most);
  const double middle = air::vapour_pa(at.air_c.expected, at.humidity.middle);
  const double driest = air::vapour_pa(at.air_c.fast - at.apart_k, at.humidity.least);
  const double falling = std::clamp((1.0 - at.humidity.least / 100.0) / kFallingRateFrom, 0.0, 1.0);
  RateFactors f;
  f.slow = std::min(1.0, relative_drying(at.surface_c.slow, dampest, reference));
  f.expected = relative_drying(at.surface_c.expected, middle, reference);
  f.fast = std::max(falling, relative_drying(at.surface_c.fast, driest, reference));
  return ordered(f);
}

/// c/c_ref, both at one temperature but for the vapour, which is the air's.
double relative_moisture(double vapour, double reference_c, double reference_percent) {
  return vapour / air::vapour_pa(reference_c, reference_percent);
}

RateFactors moisture_factors(const AirAtPiece& at, double reference) {
  const double driest = air::vapour_pa(at.air_c.slow - at.apart_k, at.humidity.least);
  const double middle = air::vapour_pa(at.air_c.expected, at.humidity.middle);
  const double dampest = air::vapour_pa(at.air_c.fast + at.apart_k, at.humidity.most);
  const double low = relative_moisture(driest, std::max(at.air_c.slow, at.surface_c.slow), reference);
  const double mid = relative_moisture(middle, at.surface_c.expected, reference);
  const double high = relative_moisture(dampest, std::min(at.air_c.fast, at.surface_c.fast), reference);
  RateFactors f;
  f.slow = std::min(std::pow(low, kLeastPower), std::pow(low, kMostPower));
  f.expected = std::pow(mid, 0.5 * (kLeastPower + kMostPower));
  f.fast = std::max(std::pow(high, kLeastPower), std::pow(high, kMostPower));
  return ordered(f);
}

RateFactors surface_film(double ratio) {
  if (ratio >= 1.0) return {std::pow(ratio, -2.0), std::pow(ratio, -1.5), 1.0};
  return {1.0, 1.0 / ratio, std::pow(ratio, -2.0)};
}

RateFactors lit_film(double ratio) {
  const double r = std::clamp(ratio, kThinnest, kThickest);
  if (r >= 1.0) return surface_film(r);
  return {1.0, 1.0, 1.0 / r};
}

/// Share of the isothermal time that a layer takes for all its own heat.
double isothermal_share(double film_um, double depth_mm) {
  const double d = film_um / kUmPerMm / depth_mm;
  return std::max(kLeastIsothermalShare, 1.0 / (1.0 + d * d));
}

/// Where two layers' shares differ most: there the deeper one has just come to its least share. Shallower
/// depths bring the other one after it, deeper ones let it go again.
double most_telling_depth_mm(double deeper_um) {
  const double at_least = std::sqrt(1.0 / kLeastIsothermalShare - 1.0);
  return std::clamp(deeper_um / kUmPerMm / at_least, kFastPotDepthMm, kSlowPotDepthMm);
}

RateFactors reactive_film(double film_um, double reference_um) {
  const auto speed = [&](double depth) {
    return isothermal_share(reference_um, depth) / isothermal_share(film_um, depth);
  };
  const double worst = speed(most_telling_depth_mm(std::max(film_um, reference_um)));
  if (film_um < reference_um) return {worst, speed(kSlowPotDepthMm), 1.0};
  return {1.0, 1.0, worst};
}

}  // namespace

HumidityBounds humidity_within(double rh_percent, double error_percent) {
  const auto keep = [](double v) { return std::clamp(v, 0.0, 100.0); };
  return {keep(rh_percent - error_percent), keep(rh_percent), keep(rh_percent + error_percent)};
}

bool humidity_matters(Family family) {
  return family == Family::water_borne || family == Family::moisture_cured_urethane;
}

RateFactors humidity_factors(Family family, const AirAtPiece& air,
                             std::optional<quantity::RelativeHumidity> reference) {
  if (family == Family::water_borne) return water_borne_factors(air, in_percent(reference));
  if (family == Family::moisture_cured_urethane) return moisture_factors(air, in_percent(reference));
  return {};
}

RateFactors film_factors(Family family, std::optional<quantity::Micrometres> film,
                         std::optional<quantity::Micrometres> reference) {
  if (!film || !reference) return {};
  if (family == Family::light_cured) return lit_film(film->value() / reference->value());
  if (!dries_through_surface(family)) return reactive_film(film->value(), reference->value());
  return surface_film(std::clamp(film->value() / reference->value(), kThinnest, kThickest));
}

bool dries_through_surface(Family family) {
  switch (family) {
    case Family::moisture_cured_urethane:
    case Family::alkyd:
    case Family::solvent_lacquer:
    case Family::water_borne:
      return true;
    case Family::epoxy:
    case Family::urethane:
    case Family::light_cured:
      return false;
  }
  return false;
}

quantity::CelsiusDelta least_dew_margin(Family family, Film film) {
  if (film == Film::set || !dries_through_surface(family)) return quantity::CelsiusDelta(3.0);
  return quantity::CelsiusDelta(family == Family::solvent_lacquer ? 11.0 : 5.0);
}

double drying_force_pa(double surface_c, double air_c, double rh_percent) {
  return air::water_saturation_pa(surface_c) - air::vapour_pa(air_c, rh_percent);
}

double drying_factor(double surface_c, double air_c, double rh_percent, double reference_c,
                     double reference_rh_percent) {
  const double at_reference = drying_force_pa(reference_c, reference_c, reference_rh_percent);
  return std::max(0.0, drying_force_pa(surface_c, air_c, rh_percent) / at_reference);
}

double moisture_ratio(double air_c, double rh_percent, double reference_c, double reference_rh_percent) {
  return air::absolute_humidity_g_m3(air_c, rh_percent) /
         air::absolute_humidity_g_m3(reference_c, reference_rh_percent);
}

}  // namespace setwell::core
