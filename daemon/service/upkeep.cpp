#include "daemon/service/upkeep.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "sensors/decode/channel.hpp"

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

constexpr const char* kSettingsMemo = "clock-settings";

/// Everything in the settings that a stored checkpoint rests on, as text.
std::string clock_settings(const settings::Settings& settings) {
  auto text = fmt::format("{} {}\n", settings.workshop.k, settings.workshop.scatter);
  for (const auto& form : settings.forms)
    text += fmt::format("{} {}\n", form.id.text(), form.lag.count());
  for (const auto& spec : settings.channels) {
    text += fmt::format("{} {} {} {} {}", decode::id_of(spec).text(), spec.zone.text(),
                        quantity::word(spec.quantity), decode::error_of(spec), spec.silent_after.count());
    for (const auto& step : spec.offset)
      text += fmt::format(" {}@{}", step.add, quantity::to_ms(step.valid_from));
    // Since humidity follows its thermometer's offset, clocks of such a shop say something else.
    if (!spec.offset.empty()) text += " vapour kept";
    text += "\n";
  }
  return text;
}

/// Clocks that were run under other settings start again.
void settle_settings(Workshop& workshop) {
  const auto text = clock_settings(*workshop.settings);
  if (workshop.ledger.memo(kSettingsMemo) == text) return;
  workshop.coats = CoatBook();
  for (const auto& piece : workshop.book.workbook().pieces) {
    for (const auto& coat : piece.coats)
      workshop.ledger.drop_checkpoints(coat.id);
  }
  workshop.ledger.set_memo(kSettingsMemo, text);
}

}  // namespace

void write(Workshop& workshop, const std::function<void()>& change) {
  const auto told_time = workshop.told_time;
  const auto remark = workshop.around.inbox_remark;
  try {
    auto transaction = workshop.ledger.begin();
    change();
    transaction.commit();
  } catch (...) {
    // What is in memory may be ahead of what was stored. A ledger that cannot be read either is for the
    // boundary that catches this.
    workshop.told_time = told_time;
    workshop.around.inbox_remark = remark;
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
  settle_settings(workshop);
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
