#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"

namespace setwell::ledger {

/// One connection to the ledger, in the .cpp files only.
class Connection;

/// The values are stored: only ever append.
enum class DeliveryState { waiting, sent, given_up, dropped, superseded };
/// `waiting`, `sent`, `given-up`, `dropped`, `superseded`.
[[nodiscard]] const char* word(DeliveryState state);

/// What is to be sent by one route.
struct Parcel {
  quantity::RouteId route;
  /// subject/kind/generation: one parcel per route and id, ever.
  std::string idempotency_id;
  std::string body;  ///< rendered once; every attempt sends these bytes
  quantity::Instant created;
  /// A newer parcel of the same route and key takes the place of those still waiting; empty = none does.
  std::string collapse_key;
  std::optional<quantity::Instant> drop_after;  ///< useless when later than this
};

/// A parcel and what became of it.
struct Delivery {
  std::int64_t id = 0;
  Parcel parcel;
  DeliveryState state = DeliveryState::waiting;
  int attempts = 0;
  quantity::Instant next_try;
  std::optional<quantity::Instant> settled;  ///< when it left `waiting`
  std::string last_error;                    ///< of the last failed attempt; empty = none failed
};

struct RouteCounts {
  quantity::RouteId route;
  std::int64_t waiting = 0;
  std::int64_t sent = 0;
  std::int64_t given_up = 0;
  std::int64_t dropped = 0;
  std::int64_t superseded = 0;
  std::optional<quantity::Instant> oldest_waiting;  ///< when it was made
  std::optional<quantity::Instant> last_sent;
  std::string last_error;  ///< of the newest parcel that still waits after a failure; empty = none does
  std::optional<quantity::Instant> last_given_up;
  std::string given_up_error;  ///< of the newest parcel given up; empty = none was
};

/// A parcel that could not be sent for this long is given up.
inline constexpr quantity::Span kGiveUpAfter = std::chrono::hours(72);

/// Messages on their way out. Lives as long as the Ledger it belongs to; inside a transaction of that ledger
/// its changes are part of it, otherwise each function is a transaction of its own. Thread: loop only. Any
/// function may throw as `fault.hpp` says.
class Outbox {
 public:
  explicit Outbox(Connection& connection) : connection_(&connection) {}

  enum class Enqueued { stored, already_there };
  /// Stores a parcel, to be tried at once. Supersedes waiting ones of its collapse key.
  Enqueued enqueue(const Parcel& parcel);

  /// What is to be sent by this route now, oldest first; never what is too late.
  [[nodiscard]] std::vector<Delivery> due(const quantity::RouteId& route, quantity::Instant now,
                                          int limit) const;
  /// When `due` will next have something, over all routes; nothing when nothing waits.
  [[nodiscard]] std::optional<quantity::Instant> next_due() const;
  /// The same of one route.
  [[nodiscard]] std::optional<quantity::Instant> next_due(const quantity::RouteId& route) const;

  /// Whatever was decided about it meanwhile: sent is sent.
  void mark_sent(std::int64_t id, quantity::Instant at);
  /// These two change waiting parcels only; others are left as they are.
  void mark_failed(std::int64_t id, quantity::Instant next_try, const std::string& error);
  void mark_given_up(std::int64_t id, quantity::Instant at);

  /// Drops what is too late and gives up what has waited for kGiveUpAfter. Answers the parcels given up now.
  std::vector<Delivery> settle_overdue(quantity::Instant now);

  /// Forgets at most `most` parcels settled before `before`. Answers how many.
  int prune(quantity::Instant before, int most);

  /// Every route that ever had a parcel, by name. Parcels pruned are not counted any more.
  [[nodiscard]] std::vector<RouteCounts> counts() const;
  /// What became of one telling, by route.
  [[nodiscard]] std::vector<Delivery> deliveries(const std::string& idempotency_id) const;

 private:
  Connection* connection_;
};

}  // namespace setwell::ledger
