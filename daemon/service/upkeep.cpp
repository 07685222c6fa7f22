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
  workshop.coats.follow(workshop.book.workbook(), *workshop.settings, workshop.shelf, workshop.ledger);
}

}  // namespace

void write(Workshop& workshop, const std::function<void()>& change) {
  try {
    auto transaction = workshop.ledger.begin();
    change();
    transaction.commit();
  } catch (...) {
    // What is in memory may be ahead of what was stored. A ledger that cannot be read either is for the
    // boundary that catches this.
    workshop.coats = CoatBook();
    (void)rebuild(workshop);
    throw;
  }
}

quantity::Result<void> rebuild(Workshop& workshop) {
  const auto loaded = workshop.book.load(workshop.ledger);
  if (!loaded) return loaded;
  workshop.air_since = air_since(workshop.book.workbook(), workshop.told_time);
  auto transaction = workshop.ledger.begin();
  workshop.sensors.load(*workshop.settings, workshop.ledger, workshop.zones, workshop.air_since,
                        workshop.book.workbook().air_readings, workshop.told_time);
  follow_entries(workshop);
  transaction.commit();
  return {};
}

void entries_changed(Workshop& workshop) {
  const auto needed = air_since(workshop.book.workbook(), workshop.told_time);
  if (needed < workshop.air_since) {
    // An entry from before the air in memory: fetch the older readings too.
    workshop.air_since = needed;
    workshop.sensors.load(*workshop.settings, workshop.ledger, workshop.zones, workshop.air_since,
                          workshop.book.workbook().air_readings, workshop.told_time);
  }
  follow_entries(workshop);
  for (const auto& change :
       workshop.sensors.hand_changed(workshop.book.workbook().air_readings, workshop.zones))
    workshop.coats.air_changed(change.zone, change.at, workshop.ledger);
  (void)workshop.coats.advance(workshop.zones, workshop.ledger, kPiecesPerTurn);
}

}  // namespace setwell::service
