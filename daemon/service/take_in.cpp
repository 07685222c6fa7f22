#include <algorithm>

#include <fmt/format.h>

#include "daemon/service/clock_watch.hpp"
#include "daemon/service/upkeep.hpp"
#include "daemon/service/workshop.hpp"

/// Opening, taking in, and the rules' clock.
namespace setwell::service {

using quantity::Instant;

namespace {

constexpr const char* kTimeMemo = "rehearsed-time-ms";
constexpr const char* kInboxMemo = "inbox-remark";
/// Without anything due the rules are asked this often all the same: clocks may have been stepped.
constexpr auto kLookAgain = std::chrono::minutes(10);

Instant stored_time(const ledger::Ledger& ledger) {
  const auto memo = ledger.memo(kTimeMemo);
  return memo ? quantity::instant_from_ms(std::stoll(*memo)) : Instant{};
}

/// In rehearsal time moves only by readings, and never backwards.
void move_time(Workshop& workshop, Instant to) {
  if (!workshop.rehearsal || to <= workshop.told_time) return;
  workshop.told_time = to;
}

void take_message(Workshop& workshop, decode::RawMessage message,
                  const std::vector<decode::RawMessage>& previous) {
  std::map<std::pair<quantity::ZoneId, std::string>, Instant> earliest;
  for (const auto& change : workshop.sensors.take(message, previous, workshop.ledger, workshop.zones)) {
    const auto [where, fresh] = earliest.emplace(std::pair(change.zone, change.place), change.at);
    if (!fresh) where->second = std::min(where->second, change.at);
  }
  bool learn = false;
  for (const auto& [where, at] : earliest) {
    const AirChange change{where.first, at, where.second};
    workshop.coats.air_changed(change, workshop.ledger);
    if (change.place.empty()) workshop.forecasts.air_changed(change.zone, at);
    learn = workshop.learned.air_changed(change) || learn;
  }
  if (learn) learn_again(workshop);
}

/// What eight real hours would have told, a burst that spans them tells too: every due moment on the way.
void rehearse_upto(Workshop& workshop, Instant to) {
  while (true) {
    while (workshop.coats.advance(workshop.zones, workshop.ledger, kPiecesPerTurn)) {
    }
    refit(workshop, workshop.told_time);
    const auto due = run_rules(workshop, workshop.told_time);
    if (due > to || due <= workshop.told_time) break;
    workshop.told_time = due;
  }
  move_time(workshop, to);
}

/// A slice of unfinished recomputing, then every rule. Answers when to come again.
Instant rules_at(Workshop& workshop, Instant now) {
  const bool more = workshop.coats.advance(workshop.zones, workshop.ledger, kPiecesPerTurn);
  // Of a clock that was never set nothing follows, least of all that something is due.
  if (clock_unset(workshop, now)) return now + kLookAgain;
  refit(workshop, now);
  const auto due = std::min(now + kLookAgain, run_rules(workshop, now));
  if (!workshop.rehearsal) workshop.told_time = now;
  return more ? now : due;
}

void remember_time(Workshop& workshop) {
  if (workshop.rehearsal)
    workshop.ledger.set_memo(kTimeMemo, std::to_string(quantity::to_ms(workshop.told_time)));
}

}  // namespace

quantity::Result<std::unique_ptr<Workshop>> open_workshop(std::shared_ptr<const settings::Settings> settings,
                                                          const std::filesystem::path& sheets_folder,
                                                          ledger::Ledger ledger, bool rehearsal,
                                                          Instant now) {
  auto workshop = std::make_unique<Workshop>(Workshop{std::move(settings),
                                                      sheets_folder,
                                                      std::move(ledger),
                                                      rehearsal,
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {},
                                                      {}});
  workshop->told_time = rehearsal ? stored_time(workshop->ledger) : now;
  workshop->around.inbox_remark = workshop->ledger.memo(kInboxMemo).value_or("");
  {
    auto transaction = workshop->ledger.begin();
    workshop->shelf.load(sheets_folder, workshop->ledger, now);
    transaction.commit();
  }
  const auto built = rebuild(*workshop);
  if (!built) return built.error();
  return workshop;
}

Instant time_of(const Workshop& workshop, Instant clock_now) {
  return workshop.rehearsal ? workshop.told_time : clock_now;
}

Instant take_in(Workshop& workshop, const TakeIn& batch, Instant now) {
  workshop.clock_time = now;
  Instant due = Instant::max();
  write(workshop, [&] {
    auto mark = workshop.ledger.inbox_mark();
    if (mark.generation != batch.generation) {
      if (mark.generation != 0) {
        workshop.around.inbox_remark = fmt::format(
            "another inbox took the place of the one known; messages that were only in the old one are lost");
        workshop.ledger.set_memo(kInboxMemo, workshop.around.inbox_remark);
      }
      mark = {batch.generation, 0};
    }
    for (auto message : batch.messages) {
      if (message.row <= mark.taken_upto) continue;
      if (workshop.rehearsal) {
        message.received = workshop.told_time;
        const auto told = workshop.sensors.device_time(message);
        // The first reading sets the clock; nothing was due before there was any time.
        if (told && workshop.told_time == Instant{}) workshop.told_time = *told;
        if (told && *told > workshop.told_time) rehearse_upto(workshop, *told);
        message.received = workshop.told_time;
      }
      mark.taken_upto = message.row;
      take_message(workshop, std::move(message), batch.previous_connection);
    }
    due = rules_at(workshop, time_of(workshop, now));
    workshop.ledger.set_inbox_mark(mark);
    remember_time(workshop);
  });
  return due;
}

Instant tick(Workshop& workshop, Instant clock_now) {
  workshop.clock_time = clock_now;
  const auto now = time_of(workshop, clock_now);
  Instant due = Instant::max();
  if (!clock_unset(workshop, now)) settle_clock(workshop, now);
  write(workshop, [&] { due = rules_at(workshop, now); });
  return due;
}

void reload(Workshop& workshop, std::shared_ptr<const settings::Settings> settings, Instant now) {
  // The old ones stay alive until nothing looks into them any more.
  const auto before = workshop.settings;
  try {
    {
      auto transaction = workshop.ledger.begin();
      workshop.shelf.load(workshop.sheets_folder, workshop.ledger, now);
      transaction.commit();
    }
    if (settings) workshop.settings = std::move(settings);
    (void)rebuild(workshop);
  } catch (...) {
    workshop.settings = before;
    (void)rebuild(workshop);
    throw;
  }
}

}  // namespace setwell::service
