#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/ledger/outbox.hpp"
#include "daemon/notices/routes/routes.hpp"
#include "daemon/runtime/log.hpp"

namespace setwell::notices {

/// The next try after so many failures in a row: 1, 2, 4 … s, never more than 30 min.
[[nodiscard]] quantity::Span backoff(int failures);

/// Carries what waits in the outbox to its routes: one parcel per route under way, no route waits for
/// another. A route that fails pauses (backoff by its failures in a row), and a parcel that failed comes
/// after those that did not, so neither a dead receiver is hammered nor one bad parcel holds up the rest.
///
/// Threads: everything here is for the loop, and must be called outside a transaction of the ledger. What
/// blocks runs on the couriers; their results come back through `post`, which runs what it is given on the
/// loop. `kick` and what is posted may throw as `ledger/fault.hpp` says; the parcel then stays waiting and is
/// tried again no sooner than 10 s later. Parcels of routes that are not in the settings wait until given up.
class Pump {
 public:
  using Clock = std::function<quantity::Instant()>;
  /// Called on courier threads.
  using Post = std::function<void(std::function<void()>)>;

  /// The outbox is not owned and must outlive the pump. Failures are logged once when a route begins to fail,
  /// and when it is well again.
  Pump(ledger::Outbox& outbox, std::vector<PumpRoute> routes, Clock clock, Post post, runtime::Log log);
  Pump(const Pump&) = delete;
  Pump& operator=(const Pump&) = delete;
  /// As `stop`, then waits for couriers however long they take.
  ~Pump();

  /// Settles what is too late, sends what the log gets, hands one due parcel to every idle route. Call it
  /// when the outbox grew, at `next_due`, and at start.
  void kick();
  /// When to kick again though nothing happens; nothing while no parcel waits for an idle route. A courier
  /// that comes back kicks by itself.
  [[nodiscard]] std::optional<quantity::Instant> next_due() const;
  /// The broker is back: what waits for it is tried now, whatever the pause was.
  void broker_is_back();
  /// Somebody waits for this route: its pause ends.
  void try_now(const quantity::RouteId& route);
  /// Begins nothing more, kills a running command and keeps what couriers have done. Answers whether all
  /// couriers ended within `patience`; one that publishes ends when its publisher lets go, so stop that
  /// first.
  bool stop(std::chrono::milliseconds patience = std::chrono::seconds(5));

 private:
  struct Route;
  struct Door;

  void settle(quantity::Instant now);
  void send_inline(Route& route);
  void hand_over(Route& route, quantity::Instant now);
  void come_back(Route& route);
  void record(Route& route, const SendResult& result);
  void went_well(Route& route, quantity::Instant now);
  void went_wrong(Route& route, const ledger::Delivery& delivery, const SendResult& result,
                  quantity::Instant now);
  [[nodiscard]] std::optional<ledger::Delivery> next_of(const Route& route, quantity::Instant now) const;

  ledger::Outbox& outbox_;
  Clock clock_;
  Post post_;
  runtime::Log log_;
  std::shared_ptr<Door> door_;
  std::vector<std::shared_ptr<Route>> routes_;
  bool stopped_ = false;
};

}  // namespace setwell::notices
