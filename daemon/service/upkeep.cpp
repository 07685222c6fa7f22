#include "daemon/service/upkeep.hpp"

#include <algorithm>

namespace setwell::service {

using quantity::Instant;

namespace {

/// An envelope over a long silence looks back 14 days; one day more for the hours at its edges.
constexpr auto kAirLooksBack = std::chrono::days(15);

/// From when on the zones' air is needed: what the earliest running coat may look back to, or the last days
/// alone when nothing runs.
Instant air_since(const core::Workbook& workbook, Instant now) {
  Instant earliest = now;
  for (const auto& piece : workbook.pieces) {
    if (!piece.in_progress() || piece.coats.empty()) continue;
    for (const auto& coat : piece.coats)
      earliest = std::min(earliest, coat.made.first_pass - coat.error);
  }
  return earliest - kAirLooksBack;
}

void follow_entries(Workshop& workshop) {
  workshop.coats.follow(workshop.book.workbook(), *workshop.settings, workshop.shelf, workshop.learned,
                        workshop.ledger);
}

/// Also what learning has to look back on.
Instant air_needed(Workshop& workshop) {
  workshop.learned.follow(workshop.book.workbook(), *workshop.settings, workshop.shelf, workshop.ledger);
  const auto clocks = air_since(workshop.book.workbook(), workshop.told_time);
  const auto learning = workshop.learned.air_needed_from();
  return learning ? std::min(clocks, *learning - kAirLooksBack) : clocks;
}

void load_air(Workshop& workshop, Instant since) {
  workshop.air_since = since;
  workshop.sensors.load(*workshop.settings, workshop.ledger, workshop.zones, since,
                        workshop.book.workbook().air_readings, workshop.told_time);
}

void air_changed(Workshop& workshop, const AirChange& change) {
  workshop.coats.air_changed(change, workshop.ledger);
  workshop.forecasts.air_changed(change.zone, change.at);
}

constexpr const char* kSettingsMemo = "clock-settings";

/// Clocks that were run under other settings start again.
void settle_settings(Workshop& workshop) {
  const auto text = clock_settings(*workshop.settings);
  if (workshop.ledger.memo(kSettingsMemo) == text) return;
  workshop.coats = CoatBook();
  for (const auto& piece : workshop.book.workbook().pieces) {
    for (const auto& coat : piece.coats)
      workshop.ledger.drop_checkpoints(coat.id);
  }
  for (const auto& zone : workshop.settings->zones)
    workshop.forecasts.air_changed(zone.id, workshop.air_since);
  workshop.ledger.set_memo(kSettingsMemo, text);
}

}  // namespace

void write(Workshop& workshop, const std::function<void()>& change) {
  const auto told_time = workshop.told_time;
  const auto remark = workshop.around.inbox_remark;
  make_whole(workshop);
  try {
    auto transaction = workshop.ledger.begin();
    change();
    transaction.commit();
  } catch (...) {
    // What is in memory may be ahead of what was stored. A ledger that cannot be read either is for the
    // boundary that catches this.
    workshop.told_time = told_time;
    workshop.around.inbox_remark = remark;
    workshop.stale = true;
    make_whole(workshop);
    throw;
  }
}

void make_whole(Workshop& workshop) {
  if (!workshop.stale) return;
  workshop.coats = CoatBook();
  workshop.learned = LearnedBook();
  (void)rebuild(workshop);
  workshop.stale = false;
}

void refit(Workshop& workshop, Instant now) {
  workshop.forecasts.refit(*workshop.settings, workshop.zones, workshop.sensors, workshop.ledger, now);
}

quantity::Result<void> rebuild(Workshop& workshop) {
  const auto loaded = workshop.book.load(workshop.ledger);
  if (!loaded) return loaded;
  auto transaction = workshop.ledger.begin();
  load_air(workshop, air_needed(workshop));
  workshop.forecasts.load(*workshop.settings, workshop.ledger);
  workshop.learned.work_out(workshop.zones, workshop.ledger);
  settle_settings(workshop);
  follow_entries(workshop);
  refit(workshop, workshop.told_time);
  transaction.commit();
  return {};
}

void entries_changed(Workshop& workshop) {
  // An entry from before the air in memory: fetch the older readings too.
  const auto needed = air_needed(workshop);
  if (needed < workshop.air_since) load_air(workshop, needed);
  const auto changes = workshop.sensors.hand_changed(workshop.book.workbook().air_readings, workshop.zones);
  for (const auto& change : changes)
    (void)workshop.learned.air_changed(change);
  learn_again(workshop);
  for (const auto& change : changes)
    air_changed(workshop, change);
  (void)workshop.coats.advance(workshop.zones, workshop.ledger, kPiecesPerTurn);
}

void learn_again(Workshop& workshop) {
  const auto needed = workshop.learned.air_needed_from();
  if (needed && *needed - kAirLooksBack < workshop.air_since) load_air(workshop, *needed - kAirLooksBack);
  workshop.learned.work_out(workshop.zones, workshop.ledger);
  follow_entries(workshop);
}

}  // namespace setwell::service
