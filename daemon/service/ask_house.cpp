#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/air_view.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/notice_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/sensor_view.hpp"
#include "daemon/service/zone_view.hpp"
#include "sensors/screen/silence.hpp"

/// Air, sensors, notices.
namespace setwell::service {

using quantity::Instant;

namespace {

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
  answer.time = api::time_text(now, workshop.settings->workshop.time_zone);
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
