#include "daemon/service/house_facts.hpp"

#include <utility>

#include "daemon/service/batch_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/sensor_view.hpp"
#include "sensors/screen/silence.hpp"

namespace setwell::service {

using core::NoticeFact;
using core::NoticeKind;
using core::Standing;
using quantity::Instant;

namespace {

/// Free space under this share of the disk is told; it must rise above the second before it is over.
constexpr double kDiskLow = 0.05;
constexpr double kDiskWell = 0.07;

/// Whether somebody waits for this zone's air: an uncured coat lies there.
bool needed(const Workshop& workshop, const quantity::ZoneId& zone, Instant now) {
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress() && !piece.coats.empty() && zone_of(piece, now) == zone) return true;
  }
  return false;
}

NoticeFact sensor_fact(const Series& series, NoticeKind kind, std::optional<Instant> since, Instant now) {
  NoticeFact fact;
  fact.subject = "channel/" + series.id.text();
  fact.kind = kind;
  fact.standing = since ? Standing::holds : Standing::over;
  fact.since = since.value_or(now);
  fact.content.channel = series.id.text();
  fact.content.zone = series.spec().zone.text();
  fact.content.from = series.state.last_good;
  return fact;
}

/// Nothing trusted for too long: a sensor that still sends is not believed, any other is silent.
void silence_facts(const Series& series, Instant now, std::vector<NoticeFact>& to) {
  const auto limit = series.spec().silent_after;
  const auto silent = screen::silent_since(series.state.last_good, series.watched_from, limit, now);
  const bool sends = series.state.last_message && now - *series.state.last_message <= limit;
  const auto due = screen::silence_begins(series.state.last_good, series.watched_from, limit);
  to.push_back(sensor_fact(series, NoticeKind::sensor_silent, sends ? std::nullopt : silent, now));
  to.back().due = due;
  to.push_back(sensor_fact(series, NoticeKind::sensor_implausible, sends ? silent : std::nullopt, now));
  to.back().due = due;
}

void sensor_facts(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  for (const auto& series : workshop.sensors.series()) {
    const auto quantity = series.spec().quantity;
    if (quantity == quantity::MeasuredQuantity::battery) {
      const auto low = battery_low(series);
      to.push_back(
          sensor_fact(series, NoticeKind::battery_low, low ? series.state.last_change : std::nullopt, now));
      to.back().content.value = low;
    }
    if (!feeds_air(series.spec()) || !needed(workshop, series.spec().zone, now)) continue;
    silence_facts(series, now, to);
    if (decode::is_temperature(quantity))
      to.push_back(sensor_fact(series, NoticeKind::sensor_stuck, stuck_since(workshop, series), now));
  }
}

void broker_fact(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  if (workshop.around.broker_connected) return;
  NoticeFact fact;
  fact.subject = "broker";
  fact.kind = NoticeKind::broker_away;
  fact.standing = Standing::holds;
  fact.since = workshop.around.broker_away_since.value_or(now);
  to.push_back(std::move(fact));
}

void disk_fact(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  const auto free = workshop.around.disk_free_share;
  if (!free || *free >= kDiskWell) return;
  NoticeFact fact;
  fact.subject = "disk";
  fact.kind = NoticeKind::disk_filling;
  fact.standing = *free < kDiskLow ? Standing::holds : Standing::wavers;
  fact.since = now;
  fact.content.value = *free * 100;
  to.push_back(std::move(fact));
}

}  // namespace

std::vector<NoticeFact> batch_facts(Workshop& workshop, Instant now) {
  std::vector<NoticeFact> facts;
  for (const auto* batch : open_batches(workshop, now)) {
    const auto outlook = batch_outlook(workshop, *batch, now);
    if (!outlook || !outlook->told_at) continue;
    NoticeFact fact;
    fact.subject = "batch/" + std::to_string(batch->entry.value());
    fact.kind = NoticeKind::pot_life_ending;
    fact.since = *outlook->told_at;
    fact.due = fact.since;
    fact.standing = now >= fact.since ? Standing::holds : Standing::not_yet;
    fact.useless_after = outlook->over.fast;
    fact.content.batch = batch->made.batch.text();
    fact.content.zone = batch->made.zone.text();
    fact.content.until = outlook->over.fast;
    if (const auto material = workshop.shelf.edition(batch->made.edition, workshop.ledger)) {
      fact.content.sheet_name = material->name;
    }
    facts.push_back(std::move(fact));
  }
  return facts;
}

std::vector<NoticeFact> house_facts(const Workshop& workshop, Instant now) {
  std::vector<NoticeFact> facts;
  sensor_facts(workshop, now, facts);
  broker_fact(workshop, now, facts);
  disk_fact(workshop, now, facts);
  return facts;
}

}  // namespace setwell::service
