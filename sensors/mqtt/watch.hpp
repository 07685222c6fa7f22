#pragma once

#include <chrono>
#include <optional>

namespace setwell::mqtt {

using Steady = std::chrono::steady_clock::time_point;

/// Why the process should leave and be started again: nothing in it can mend the connection any more.
enum class LeaveReason {
  deaf,              ///< connected, subscribed again and again, and our own canary does not come back
  cannot_reconnect,  ///< not connected for 5 min although the broker's port accepts connections
};

/// How often things are done on a connection. The defaults are the product's; tests may hurry.
struct Pace {
  std::chrono::seconds canary_every{5};
  std::chrono::seconds subscribe_every{10};
  std::chrono::seconds deaf_after{30};
};

/// What is due on a connection: told the time, it decides; it does nothing itself.
///
/// A connection can be up and hear nothing: a broker that lost our session answers pings all the same. Two
/// things find that out. A canary, published to ourselves every 5 s, shows that the broker routes to us at
/// all. And because one data filter can be lost while the canary's survives, every filter is subscribed again
/// every 10 s: a subscription that exists is replaced without a gap in what it delivers (MQTT 3.1.1, 3.8.4),
/// so this costs one packet and the retained values, whose repeats are dropped.
///
/// Not thread-safe.
class Watch {
 public:
  /// Fewer unanswered canaries than this prove nothing: the process may have been stopped meanwhile.
  static constexpr int kDeafCanaries = 5;
  static constexpr std::chrono::minutes kProbeAfter{5};
  static constexpr std::chrono::minutes kProbeEvery{1};

  /// What to do now.
  struct Due {
    bool canary = false;
    bool subscribe = false;
    bool probe = false;  ///< see whether the broker's port accepts connections
    std::optional<LeaveReason> leave;
  };

  explicit Watch(Steady started, Pace pace = {}) : pace_(pace), changed_(started) {}

  /// Connected, and every filter has just been subscribed.
  void connected(Steady now);
  void lost(Steady now);
  void canary_back(Steady now);
  /// A message is being kept: nothing can come in behind it, so silence is no sign of deafness.
  void busy_keeping(Steady now);

  /// What is due; notes it as done. Meant to be asked about once a second.
  [[nodiscard]] Due due(Steady now);

 private:
  [[nodiscard]] bool deaf(Steady now) const;
  [[nodiscard]] Due due_connected(Steady now);
  [[nodiscard]] Due due_away(Steady now);

  Pace pace_;
  bool up_ = false;
  Steady changed_;
  Steady proof_{};
  Steady subscribed_{};
  Steady probed_{};
  std::optional<Steady> canary_sent_;
  int unanswered_ = 0;
};

}  // namespace setwell::mqtt
