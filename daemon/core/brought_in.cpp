#include "daemon/core/brought_in.hpp"

#include <cmath>

namespace setwell::core {
namespace {

// What a maker's "brought in from" may be off by.
constexpr double kSaidErrorK = 1.0;

std::optional<quantity::Minutes> warmed(double from_c, double to_c, double air_c, quantity::Minutes lag) {
  if (from_c >= to_c) return quantity::Minutes(0);
  if (to_c >= air_c) return std::nullopt;
  return lag * std::log((air_c - from_c) / (air_c - to_c));
}

}  // namespace

std::optional<BroughtIn> brought_in(quantity::Celsius from, quantity::Celsius air,
                                    quantity::RelativeHumidity humidity, const air::AirErrors& errors,
                                    quantity::Minutes lag, quantity::CelsiusDelta wanted) {
  const auto dew = air::dew_point(air, humidity);
  const auto margin = air::dew_margin(air, humidity, from, errors, air::SurfaceFrom::separate_probe,
                                      quantity::CelsiusDelta(kSaidErrorK));
  if (!dew || !margin) return std::nullopt;
  BroughtIn told;
  told.dew_point = *dew;
  told.condenses = margin->margin.kelvin() - margin->error.kelvin() < 0;
  const double dry_c = dew->degrees() + wanted.kelvin();
  // Once warm the surface hangs on the same sensor as the dew point, and most of its error cancels.
  const auto warm = air::dew_margin(air, humidity, air, errors, air::SurfaceFrom::same_sensor);
  const double sure_c = dry_c + (warm ? warm->error.kelvin() : margin->error.kelvin());
  told.likely = warmed(from.degrees(), dry_c, air.degrees(), lag);
  told.surely = warmed(from.degrees() - kSaidErrorK, sure_c, air.degrees(), 2.0 * lag);
  return told;
}

}  // namespace setwell::core
