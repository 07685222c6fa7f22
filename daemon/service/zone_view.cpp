#include "daemon/service/zone_view.hpp"

#include "daemon/api/from_core.hpp"
#include "sensors/air/psychrometrics.hpp"

namespace setwell::service {

using quantity::Instant;

namespace {

/// The newest point at or before a moment.
const core::AirPoint* newest(const std::vector<core::AirPoint>& points, Instant now) {
  for (auto point = points.rbegin(); point != points.rend(); ++point) {
    if (point->at <= now) return &*point;
  }
  return nullptr;
}

}  // namespace

api::ZoneNow zone_now(const Workshop& workshop, const quantity::ZoneId& zone, Instant now) {
  api::ZoneNow shown;
  shown.zone = zone.text();
  const auto found = workshop.zones.find(zone);
  if (found == workshop.zones.end()) return shown;
  const auto& history = found->second.history();
  const auto* temperature = newest(history.temperature(), now);
  const auto* humidity = newest(history.humidity(), now);
  if (temperature == nullptr) return shown;
  shown.air_c = temperature->value;
  shown.age_s = quantity::Seconds(now - temperature->at).count();
  shown.trusted = !history.silent_since(now).has_value();
  const bool fresh = humidity != nullptr && now - humidity->at <= history.limits().humidity_silent_after;
  if (!fresh) return shown;
  shown.humidity_pct = humidity->value;
  const auto rh = quantity::RelativeHumidity::from_percent(humidity->value);
  if (rh) {
    const auto dew = air::dew_point(quantity::Celsius(temperature->value), *rh);
    if (dew) shown.dew_point_c = dew->degrees();
  }
  return shown;
}

}  // namespace setwell::service
