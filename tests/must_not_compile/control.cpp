// Everything that the faulty files get wrong, done right. Were this refused, the others would prove nothing.
#include <chrono>
#include <optional>

#include "daemon/core/material.hpp"
#include "sensors/air/psychrometrics.hpp"
#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/relative_humidity.hpp"

namespace setwell::quantity {

Celsius warmer(Celsius air, CelsiusDelta by) {
  return air + by;
}
double film(Micrometres wet) {
  return wet.value();
}
bool zoned(const ZoneId& zone) {
  return !zone.empty();
}
double spent(Hours hours) {
  return hours.count();
}

inline constexpr Micrometres kFilm{1.0};
inline constexpr Celsius kAir{20.0};

bool all_right() {
  const auto dew = air::dew_point(kAir, RelativeHumidity::percent(50.0));
  return warmer(kAir, CelsiusDelta(1.0)) > kAir && film(kFilm) > 0.0 && zoned(ZoneId("bench")) &&
         spent(std::chrono::hours(4)) > 0.0 && spent(Hours(0.5)) > 0.0 && dew < kAir &&
         EntryId(1) == EntryId(1);
}

}  // namespace setwell::quantity
