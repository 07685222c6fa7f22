#include "daemon/app/engine.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include <fmt/format.h>

namespace setwell::app {
namespace {

using quantity::Instant;

/// One turn of the loop: more would keep the command line waiting.
constexpr int kRowsPerTurn = 100;
/// After the machine refused something.
constexpr auto kTryAgain = std::chrono::seconds(2);
/// The write-ahead log is emptied and unused pages given back about this often.
constexpr auto kHouseEvery = std::chrono::hours(1);
constexpr int kPagesGivenBack = 256;
constexpr auto kDeliveriesKept = std::chrono::days(30);

}  // namespace

Engine::Engine(boost::asio::io_context& loop, Parts parts)
    : parts_(std::move(parts)),
      rules_(loop, parts_.clock, [this] { tick(); }),
      pump_(loop, parts_.clock, [this] { send(); }) {}

Instant Engine::now() const {
  return service::time_of(parts_.workshop, parts_.clock.wall_now());
}

void Engine::guarded(std::string_view what, const std::function<void()>& work) {
  try {
    work();
  } catch (const std::exception& broken) {
    const auto fault = ledger::storage_fault(broken);
    parts_.log.seldom(
        runtime::LogLevel::error, what,
        fmt::format("{} failed: {} {}; trying again", what, broken.what(), ledger::words(fault)),
        parts_.clock.steady_now());
    rules_.arm(parts_.clock.wall_now() + kTryAgain);
  }
}

void Engine::take_in() {
  guarded("taking in messages", [this] {
    auto& workshop = parts_.workshop;
    const auto mark = workshop.ledger.inbox_mark();
    const auto generation = parts_.reader.generation();
    const auto after = mark.generation == generation ? mark.taken_upto : 0;
    service::TakeIn batch{generation, parts_.reader.read(after, kRowsPerTurn), {}};
    if (batch.messages.empty()) return;
    batch.previous_connection = parts_.reader.previous_connection_tail(batch.messages.front().connection);
    const auto due = service::take_in(workshop, batch, parts_.clock.wall_now());
    parts_.inbox.tell_taken(batch.messages.back().row);
    if (static_cast<int>(batch.messages.size()) == kRowsPerTurn) parts_.again();
    look();
    this->after(due);
    keep_house();
  });
}

void Engine::tick() {
  guarded("running the rules", [this] {
    look();
    after(service::tick(parts_.workshop, parts_.clock.wall_now()));
    keep_house();
  });
}

void Engine::changed() {
  tick();
}

void Engine::after(Instant due) {
  // In rehearsal time stands still between readings: only unfinished work is due by itself.
  const auto wall = parts_.clock.wall_now();
  const bool at_once = due <= now();
  rules_.arm(at_once ? wall : parts_.workshop.rehearsal ? wall + std::chrono::hours(1) : due);
  send();
}

void Engine::send() {
  courier_is_back([this] {
    for (const auto& route : std::exchange(parts_.workshop.try_now, {}))
      parts_.pump.try_now(route);
    parts_.pump.kick();
  });
}

void Engine::courier_is_back(const std::function<void()>& settle) {
  guarded("sending", [&] {
    settle();
    if (const auto next = parts_.pump.next_due()) pump_.arm(*next);
  });
}

void Engine::look() {
  auto& around = parts_.workshop.around;
  const auto facts = parts_.link();
  around.broker_connected = facts.connected;
  around.subscribed = facts.connected && facts.last_canary.has_value() && facts.refused_filters.empty();
  around.broker_away_since = facts.connected ? std::nullopt : facts.last_lost;
  around.broker_advice.clear();
  if (facts.id_contested) {
    around.broker_advice = "another client uses our id: give each program its own client_id in [broker]";
  } else if (!facts.refused_filters.empty()) {
    around.broker_advice =
        "the broker refuses the topic " + facts.refused_filters.front() + ": check its access list";
  }
  const auto mark = parts_.workshop.ledger.inbox_mark();
  const auto taken = mark.generation == parts_.reader.generation() ? mark.taken_upto : 0;
  around.waiting_rows = std::max<std::int64_t>(0, parts_.reader.newest_row() - taken);
  around.waiting_for_storage = parts_.inbox.waiting_for_storage();
  std::error_code error;
  const auto space = std::filesystem::space(parts_.state, error);
  if (!error && space.capacity > 0) {
    around.disk_free_share = static_cast<double>(space.available) / static_cast<double>(space.capacity);
  }
}

void Engine::keep_house() {
  const auto steady = parts_.clock.steady_now();
  if (housed_ && steady - *housed_ < kHouseEvery) return;
  housed_ = steady;
  auto& ledger = parts_.workshop.ledger;
  // Deliveries are stamped by the machine's own clock, in rehearsal too.
  ledger.outbox().prune(parts_.clock.wall_now() - kDeliveriesKept, ledger::Ledger::kRowsAtOnce);
  ledger.give_back(kPagesGivenBack);
  if (ledger.checkpoint_wal() == ledger::LogCheckpoint::busy) {
    parts_.log.seldom(runtime::LogLevel::info, "checkpoint",
                      "the database's log could not be emptied: it is in use", steady);
  }
}

void Engine::reload(std::shared_ptr<const settings::Settings> settings) {
  guarded("reading settings and sheets again",
          [&] { service::reload(parts_.workshop, std::move(settings), parts_.clock.wall_now()); });
  tick();
}

}  // namespace setwell::app
