#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/time_phrase.hpp"
#include "daemon/service/air_view.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/notice_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/sensor_view.hpp"
#include "daemon/service/zone_view.hpp"
#include "sensors/screen/silence.hpp"

/// Air, sensors, notices, history, backup.
namespace setwell::service {

using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

constexpr std::size_t kHistoryPage = 2000;

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

const Series* channel_of(const Workshop& workshop, const quantity::ZoneId& zone, MeasuredQuantity quantity) {
  for (const auto& series : workshop.sensors.series()) {
    if (series.spec().zone == zone && series.spec().quantity == quantity) return &series;
  }
  return nullptr;
}

/// A span of history as asked for: the last day unless said otherwise.
quantity::Result<core::TimePhrase> history_span(const Workshop& workshop, const api::HistoryParams& params,
                                                Instant now) {
  core::TimePhrase span{now - std::chrono::hours(24), now, quantity::Span(0)};
  if (params.from) {
    const auto from = time_said(workshop, params.from, now);
    if (!from) return from.error();
    span.from = from->from;
  }
  if (params.to) {
    const auto to = time_said(workshop, params.to, now);
    if (!to) return to.error();
    span.to = to->to;
  }
  if (span.to <= span.from)
    return quantity::invalid("the span ends before it begins: --from must come before --to");
  return span;
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

Answered<api::HistoryAnswer> history(Workshop& workshop, const api::HistoryParams& params, Instant now) {
  const auto zone = zone_named(workshop, params.zone, std::nullopt);
  if (!zone) return zone.error();
  const auto span = history_span(workshop, params, now);
  if (!span) return span.error();
  auto from = span->from;
  if (params.after) {
    const auto after = quantity::parse_rfc3339(*params.after);
    if (!after) return quantity::invalid("after takes the RFC 3339 time of the last row of the page before");
    from = *after + quantity::Span(1);
  }
  // Temperature and humidity of one moment share a row.
  std::map<Instant, api::HistoryRow> rows;
  const auto add = [&](MeasuredQuantity quantity, std::optional<double> api::HistoryRow::*member) {
    const auto* series = channel_of(workshop, *zone, quantity);
    if (series == nullptr) return;
    for (const auto& reading : workshop.ledger.trusted(series->number, from, span->to + quantity::Span(1)))
      rows[reading.measured].*member = reading.value + decode::offset_at(series->spec(), reading.measured);
  };
  add(MeasuredQuantity::air_temperature, &api::HistoryRow::temperature_c);
  add(MeasuredQuantity::relative_humidity, &api::HistoryRow::humidity_pct);
  api::HistoryAnswer answer;
  answer.zone = zone->text();
  answer.display = api::from_core(display_of(*workshop.settings));
  for (auto& [at, row] : rows) {
    if (answer.rows.size() == kHistoryPage) {
      answer.more_after = answer.rows.back().time;
      break;
    }
    row.time = api::time_text(at, workshop.settings->workshop.time_zone);
    answer.rows.push_back(row);
  }
  return answer;
}

Answered<api::BackupAnswer> backup(Workshop& workshop, const api::BackupParams& params, Instant) {
  const std::filesystem::path file(params.file);
  if (!file.is_absolute())
    return quantity::invalid("the backup's file needs its whole path, as /home/…/setwell.db");
  const auto done = workshop.ledger.backup_to(file);
  if (!done) return done.error();
  api::BackupAnswer answer;
  answer.file = file.string();
  std::error_code error;
  answer.bytes = static_cast<std::int64_t>(std::filesystem::file_size(file, error));
  answer.entries = static_cast<std::int64_t>(workshop.book.entries().size());
  for (const auto& series : workshop.sensors.series())
    answer.readings += workshop.ledger.reading_count(series.number);
  return answer;
}

}  // namespace setwell::service
