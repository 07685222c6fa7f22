#include "daemon/notices/pump.hpp"

#include <algorithm>
#include <mutex>
#include <set>
#include <utility>

#include <fmt/format.h>

namespace setwell::notices {

using ledger::Delivery;
using quantity::Instant;
using quantity::Span;

namespace {

/// So many due parcels are looked at for the one to send next.
constexpr int kLookAt = 50;
/// The ledger did not take what became of a parcel: not again at once.
constexpr auto kLedgerPause = std::chrono::seconds(10);

}  // namespace

Span backoff(int failures) {
  constexpr Span kCap = std::chrono::minutes(30);
  constexpr int kDoublings = 11;  // 2^11 s is more than the cap
  return std::min<Span>(std::chrono::seconds(1LL << std::clamp(failures - 1, 0, kDoublings)), kCap);
}

struct Pump::Route {
  PumpRoute way;
  std::optional<Delivery> under_way;
  int failures = 0;  ///< in a row
  Instant paused_until{};
  std::mutex mutex;
  std::optional<SendResult> result;  ///< of what is under way, guarded by the mutex: written by the courier

  [[nodiscard]] std::optional<SendResult> take_result() {
    const std::lock_guard lock(mutex);
    return std::exchange(result, std::nullopt);
  }
};

/// What is posted to the loop may run after the pump is gone; then nobody is behind the door.
struct Pump::Door {
  Pump* pump;
};

Pump::Pump(ledger::Outbox& outbox, std::vector<PumpRoute> routes, Clock clock, Post post, runtime::Log log)
    : outbox_(outbox),
      clock_(std::move(clock)),
      post_(std::move(post)),
      log_(std::move(log)),
      door_(std::make_shared<Door>(Door{this})) {
  for (auto& way : routes) {
    auto route = std::make_shared<Route>();
    route->way = std::move(way);
    routes_.push_back(std::move(route));
  }
}

Pump::~Pump() {
  try {
    stop();
  } catch (const std::exception& fault) {
    log_.error(fmt::format("deliveries could not be recorded: {}", fault.what()));
  }
  door_->pump = nullptr;
}

void Pump::kick() {
  if (stopped_) return;
  const auto now = clock_();
  settle(now);
  for (const auto& route : routes_) {
    if (route->way.courier) {
      hand_over(*route, now);
    } else {
      send_inline(*route);
    }
  }
}

void Pump::settle(Instant now) {
  for (const auto& delivery : outbox_.settle_overdue(now)) {
    log_.warning(fmt::format("route {}: given up after three days: {}", delivery.parcel.route.text(),
                             delivery.parcel.idempotency_id));
  }
}

std::optional<Delivery> Pump::next_of(const Route& route, Instant now) const {
  if (route.under_way || route.paused_until > now) return std::nullopt;
  auto due = outbox_.due(route.way.id, now, kLookAt);
  const auto first = std::min_element(due.begin(), due.end(), [](const Delivery& a, const Delivery& b) {
    return std::pair(a.attempts, a.id) < std::pair(b.attempts, b.id);
  });
  if (first == due.end()) return std::nullopt;
  return std::move(*first);
}

void Pump::send_inline(Route& route) {
  for (int sent = 0; sent < kLookAt; ++sent) {
    route.under_way = next_of(route, clock_());
    if (!route.under_way) return;
    record(route, route.way.sender->send(*route.under_way));
  }
}

void Pump::hand_over(Route& route, Instant now) {
  auto delivery = next_of(route, now);
  if (!delivery) return;
  route.under_way = delivery;
  const auto shared =
      *std::find_if(routes_.begin(), routes_.end(), [&](const auto& each) { return each.get() == &route; });
  route.way.courier->run(
      [sender = route.way.sender, parcel = std::move(*delivery)] { return sender->send(parcel); },
      [shared, post = post_, door = door_](SendResult result) {
        {
          const std::lock_guard lock(shared->mutex);
          shared->result = std::move(result);
        }
        post([shared, door] {
          if (door->pump != nullptr) door->pump->come_back(*shared);
        });
      });
}

void Pump::come_back(Route& route) {
  if (const auto result = route.take_result()) record(route, *result);
  kick();
}

void Pump::record(Route& route, const SendResult& result) {
  const auto now = clock_();
  const auto delivery = *std::exchange(route.under_way, std::nullopt);
  // Stands should the ledger throw below: not again at once.
  route.paused_until = now + kLedgerPause;
  if (result.what == SendResult::What::sent) {
    outbox_.mark_sent(delivery.id, now);
    went_well(route, now);
  } else if (result.what == SendResult::What::final) {
    outbox_.mark_failed(delivery.id, now, result.text);
    outbox_.mark_given_up(delivery.id, now);
    log_.warning(fmt::format("route {}: given up {}: {}", route.way.id.text(), delivery.parcel.idempotency_id,
                             result.text));
    route.paused_until = now;
  } else {
    went_wrong(route, delivery, result, now);
  }
}

void Pump::went_well(Route& route, Instant now) {
  route.paused_until = now;
  if (std::exchange(route.failures, 0) > 0) {
    log_.info(fmt::format("route {} is well again", route.way.id.text()));
  }
}

void Pump::went_wrong(Route& route, const Delivery& delivery, const SendResult& result, Instant now) {
  // A parcel that found nobody there is not to blame: only the route pauses.
  const bool away = result.what == SendResult::What::away;
  outbox_.mark_failed(delivery.id, away ? now : now + backoff(delivery.attempts + 1), result.text);
  route.paused_until = now + backoff(++route.failures);
  if (route.failures == 1) log_.warning(fmt::format("route {}: {}", route.way.id.text(), result.text));
}

std::optional<Instant> Pump::next_due() const {
  std::optional<Instant> next;
  if (stopped_) return next;
  for (const auto& route : routes_) {
    if (route->under_way) continue;
    const auto waiting = outbox_.next_due(route->way.id);
    if (!waiting) continue;
    const auto when = std::max(*waiting, route->paused_until);
    if (!next || when < *next) next = when;
  }
  return next;
}

void Pump::broker_is_back() {
  for (const auto& route : routes_) {
    if (route->way.by_broker) route->paused_until = clock_();
  }
  kick();
}

void Pump::try_now(const quantity::RouteId& id) {
  for (const auto& route : routes_) {
    if (route->way.id == id) route->paused_until = clock_();
  }
}

bool Pump::stop(std::chrono::milliseconds patience) {
  const auto deadline = std::chrono::steady_clock::now() + patience;
  stopped_ = true;
  for (const auto& route : routes_) {
    route->way.sender->cancel();
    if (route->way.courier) route->way.courier->close();
  }
  bool all = true;
  for (const auto& route : routes_) {
    if (route->way.courier && !route->way.courier->ended_by(deadline)) all = false;
    // What did not get through because we stop is no failure: it waits for the next start.
    const auto result = route->take_result();
    if (result && (result->what == SendResult::What::sent || result->what == SendResult::What::final)) {
      record(*route, *result);
    }
  }
  return all;
}

}  // namespace setwell::notices
