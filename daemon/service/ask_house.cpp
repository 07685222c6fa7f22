#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/forecast_view.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/notice_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/sensor_view.hpp"
#include "daemon/service/zone_view.hpp"
#include "sensors/air/psychrometrics.hpp"
#include "sensors/screen/silence.hpp"

/// Air, sensors, notices.
namespace setwell::service {

using quantity::Instant;

namespace {

api::AirHour hour_of(const core::AirHistory& history, Instant from, Instant to,
                     const quantity::TimeZone& zone) {
  api::AirHour hour;
  hour.from = api::time_text(from, zone);
  double sum = 0;
  int count = 0;
  for (const auto& point : history.temperature()) {
    if (point.at < from || point.at >= to) continue;
    hour.least_c = std::min(hour.least_c.value_or(point.value), point.value);
    hour.most_c = std::max(hour.most_c.value_or(point.value), point.value);
    sum += point.value;
    ++count;
  }
  if (count > 0) hour.mean_c = sum / count;
  double humidity = 0;
  int humid = 0;
  for (const auto& point : history.humidity()) {
    if (point.at < from || point.at >= to) continue;
    humidity += point.value;
    ++humid;
  }
  if (humid > 0) hour.mean_pct = humidity / humid;
  const auto upto = history.recorded_upto();
  if (!upto || from >= *upto) {
    hour.silent = count == 0;
    return hour;
  }
  for (const auto& piece : history.pieces(from, std::min(to, *upto)))
    hour.silent = hour.silent || piece.temperature.silent;
  return hour;
}

std::optional<double> margin_error(const Workshop& workshop, const api::ZoneNow& now) {
  const auto zone = workshop.zones.find(quantity::ZoneId(now.zone));
  if (zone == workshop.zones.end() || !now.air_c || !now.humidity_pct) return std::nullopt;
  const auto& history = zone->second.history();
  const auto rh = quantity::RelativeHumidity::from_percent(*now.humidity_pct);
  if (!rh || history.temperature().empty() || history.humidity().empty()) return std::nullopt;
  const auto error = air::dew_point_error(
      quantity::Celsius(*now.air_c), *rh,
      {quantity::CelsiusDelta(history.temperature().back().error), history.humidity().back().error});
  if (!error) return std::nullopt;
  return error->worst_case;
}

api::AirZone air_zone(Workshop& workshop, const quantity::ZoneId& id, Instant now) {
  api::AirZone shown;
  shown.now = zone_now(workshop, id, now);
  shown.dew_margin_error_k = margin_error(workshop, shown.now);
  shown.ahead = ahead_in(workshop, id);
  shown.forecast = forecast_now(workshop, id);
  const auto zone = workshop.zones.find(id);
  if (zone == workshop.zones.end()) return shown;
  const auto hour = std::chrono::floor<std::chrono::hours>(now);
  for (int back = 23; back >= 0; --back) {
    const Instant from = hour - std::chrono::hours(back);
    shown.last_day.push_back(hour_of(zone->second.history(), from, from + std::chrono::hours(1),
                                     workshop.settings->workshop.time_zone));
  }
  return shown;
}

std::string sensor_advice(const api::SensorNow& sensor, bool connected) {
  if (!sensor.last_message) {
    return connected
               ? "no message yet on this topic: check the topic's spelling and that the sensor publishes"
               : "the broker is away: see `setwell status`";
  }
  if (sensor.silent) return "silent: check its battery and reach, or read by hand with `setwell read`";
  if (sensor.stuck) return "always the same value while another sensor moves: check it";
  if (sensor.qos == 0) return "publishes at QoS 0: readings are lost while the daemon or broker is down";
  return {};
}

api::SensorNow sensor_now(const Workshop& workshop, const Series& series, Instant now) {
  const auto& zone = workshop.settings->workshop.time_zone;
  const auto& spec = series.spec();
  api::SensorNow shown;
  shown.channel = series.id.text();
  shown.zone = spec.zone.text();
  shown.quantity = quantity::word(spec.quantity);
  for (const auto* way : series.ways)
    shown.topic += (shown.topic.empty() ? "" : ", ") + way->topic;
  shown.last_message = api::time_text(series.state.last_message, zone);
  shown.last_good = api::time_text(series.state.last_good, zone);
  shown.last_change = api::time_text(series.state.last_change, zone);
  shown.value = series.state.last_value;
  shown.qos = series.state.qos;
  shown.silent =
      screen::silent_since(series.state.last_good, series.watched_from, spec.silent_after, now).has_value();
  shown.stuck = decode::is_temperature(spec.quantity) && stuck_since(workshop, series).has_value();
  shown.readings = workshop.ledger.reading_count(series.number);
  for (const auto& count : workshop.ledger.refused_counts()) {
    if (count.source == series.id.text()) {
      shown.refused.push_back({std::string(quantity::word(count.reason)), count.count});
    }
  }
  shown.advice = sensor_advice(shown, workshop.around.broker_connected);
  return shown;
}

}  // namespace

Answered<api::AirAnswer> air(Workshop& workshop, const api::AirParams& params, Instant now) {
  api::AirAnswer answer;
  answer.rehearsal = workshop.rehearsal;
  answer.display = api::from_core(display_of(*workshop.settings));
  if (params.zone) {
    const auto zone = zone_named(workshop, params.zone, std::nullopt);
    if (!zone) return zone.error();
    answer.zones.push_back(air_zone(workshop, *zone, now));
    return answer;
  }
  for (const auto& zone : workshop.settings->zones)
    answer.zones.push_back(air_zone(workshop, zone.id, now));
  return answer;
}

Answered<api::SensorsAnswer> sensors(Workshop& workshop, const api::NoParams&, Instant now) {
  api::SensorsAnswer answer;
  answer.display = api::from_core(display_of(*workshop.settings));
  for (const auto& series : workshop.sensors.series())
    answer.sensors.push_back(sensor_now(workshop, series, now));
  for (const auto& count : workshop.ledger.refused_counts()) {
    if (count.reason == quantity::Refusal::unmapped) answer.unmapped.push_back({count.source, count.count});
  }
  return answer;
}

Answered<api::NoticesAnswer> notices(Workshop& workshop, const api::NoticesParams& params, Instant) {
  api::NoticesAnswer answer;
  answer.display = api::from_core(display_of(*workshop.settings));
  answer.notices = params.all ? all_notices(workshop) : open_notices(workshop);
  return answer;
}

}  // namespace setwell::service
