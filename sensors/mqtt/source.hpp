#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "sensors/mqtt/address.hpp"
#include "sensors/mqtt/keeper.hpp"
#include "sensors/mqtt/publisher.hpp"
#include "sensors/mqtt/session.hpp"
#include "sensors/quantity/instant.hpp"

namespace setwell::mqtt {

struct SourceSettings {
  BrokerAddress broker;
  /// What to subscribe, at QoS 1; ones that MQTT forbids are left out (the settings refuse them earlier).
  std::vector<std::string> filters;
  /// What the broker may still hold for us from before: see `SourceHandlers::filters_held`.
  std::vector<std::string> held_before;
  /// How many connections there were before this process, so that their numbers go on.
  std::int64_t connections_so_far = 0;
  Pace pace;
};

/// What the source tells. Called on the library's thread or the sender's, the first `filters_held` on the
/// caller's of `start`; they must be quick, must not throw (what they throw is dropped) and must not call
/// the source. Any may be empty.
struct SourceHandlers {
  /// The workshop's clock, for what is written down; empty: the system's.
  std::function<quantity::Instant()> now;
  /// The filters that the broker may hold for our session from now on: store them and hand them in as
  /// `held_before` next time, so that one that is no longer wanted is unsubscribed even if this process ends
  /// before the broker said yes.
  std::function<void(const std::vector<std::string>&)> filters_held;
  /// Connected or lost: worth a look at `facts`.
  std::function<void()> changed;
  /// Nothing in this process can mend the connection: leave with an exit code of its own, to be started
  /// again. May be told again every few seconds.
  std::function<void(LeaveReason)> leave;
};

/// How `stop` ended.
enum class StopOutcome {
  disconnected,  ///< the broker has been told; nothing calls the keeper any more
  /// The broker or the keeper did not answer in time. Deliveries from now on block unacknowledged, but one
  /// may still be inside the keeper: the keeper must outlive the process, which has to leave by `_exit`.
  abandoned,
};

/// Our one connection to the broker: every message that comes in goes to the keeper and is acknowledged only
/// once that has returned, so that no acknowledged message is lost when the process is killed.
///
/// MQTT 3.1.1, a session the broker keeps (its queue is ours while we are away), keepalive 20 s, automatic
/// reconnect after 1 … 30 s, nothing buffered and nothing on disk on our side. All filters are subscribed on
/// every connection and again every 10 s (watch.hpp says why).
///
/// At most one per process life, apart from tests: the library's threads are shared by all its clients, and a
/// keeper that waits makes every other client wait.
/// Threads: `start`, `stop` and the destructor on one; `publish` and `tend` on the sender's; `interrupt`,
/// `facts` on any.
class Source final : public Publisher {
 public:
  /// Throws std::exception when the library cannot make a client (an empty client id, no memory).
  Source(SourceSettings settings, SourceHandlers handlers, Keeper& keeper);
  ~Source() override;

  /// Begins to connect and returns at once. The library goes on trying, also when the very first attempt
  /// fails.
  void start();

  /// Once a second, on the sender's thread: canary, filters, supervision. May wait for the keeper's commit,
  /// and up to 3 s for a probe of the broker's port when there has been no connection for 5 min.
  void tend() noexcept;

  /// At QoS 1. Waits for the broker's acknowledgement up to 10 s, beyond that `failed`: the message may still
  /// arrive. `not_connected` at once without a connection, when it is lost, and after `interrupt`.
  [[nodiscard]] PublishOutcome publish(const Publication& publication) noexcept override;

  /// Makes a waiting `publish` and all later ones give up.
  void interrupt() noexcept;

  /// Disconnects; takes at most 5 s even when the broker is frozen or the keeper blocks. Does not end the
  /// session: the broker queues for us. After it only `facts` and the destructor may be called.
  StopOutcome stop() noexcept;

  [[nodiscard]] LinkFacts facts() const;

 private:
  class Client;
  std::unique_ptr<Client> client_;
};

/// Where the source publishes to itself: `setwell/canary/<client id>`.
[[nodiscard]] std::string canary_topic(const BrokerAddress& address);

}  // namespace setwell::mqtt
