#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>
#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sensors/decode/raw_message.hpp"
#include "sensors/mqtt/keeper.hpp"
#include "sensors/mqtt/replays.hpp"
#include "sensors/mqtt/watch.hpp"
#include "sensors/quantity/instant.hpp"

namespace setwell::mqtt {

/// Now, by both clocks: the workshop's for what is written down, the steady one for rules.
struct Moment {
  quantity::Instant wall;
  Steady steady;
};

/// A message as the library hands it over.
struct Delivery {
  const std::string& topic;
  std::string_view payload;
  int qos = 1;
  bool retained = false;
  bool duplicate = false;
};

/// How the connection stands, for status and for the supervisor.
struct LinkFacts {
  bool connected = false;
  std::optional<quantity::Instant> last_connected;
  std::optional<quantity::Instant> last_lost;
  std::int64_t connections = 0;  ///< the number of the newest connection, over restarts too
  int losses_last_minute = 0;
  /// Five losses within a minute: another client uses our id, and the two push each other out.
  bool id_contested = false;
  std::optional<quantity::Instant> last_canary;  ///< when our own message last came back
  std::vector<std::string> refused_filters;      ///< the broker said no to these when last asked
  /// Of the first connection of this process: whether the broker still had our session. Nothing before it.
  std::optional<bool> session_found;
  std::string connect_error;  ///< why the very first attempt failed, in the library's words; else empty
  /// How long the message now being kept has been at it; nothing when none is. Long means the disk refuses.
  std::optional<quantity::Span> keeping;
  std::uint64_t messages = 0;  ///< handed to the keeper
  std::uint64_t repeats = 0;   ///< retained values that only repeated themselves, not handed on
};

/// The state of our side of the connection. Everything the library's callbacks do happens here or is a call
/// to `subscribe` without waiting, so it can be tried without a broker. Thread: any; nothing here waits
/// except `deliver`, for the keeper.
class Session {
 public:
  static constexpr int kContestedLosses = 5;
  static constexpr std::chrono::seconds kStalledAfter{1};

  /// `connections_so_far` numbers the connections over restarts; the keeper must outlive the session.
  Session(Keeper& keeper, std::string canary_topic, std::int64_t connections_so_far, Watch watch);

  void session_found(bool found);
  void first_attempt_failed(std::string why);
  void connected(Moment now);
  void lost(Moment now);
  void subscribed(const std::vector<std::string>& filters, const std::vector<int>& codes);

  /// Hands the message to the keeper and returns once it is kept. The canary and repeats of retained values
  /// end here. Never throws: where memory runs out it tries again until it is there, because returning would
  /// acknowledge what was not kept.
  void deliver(const Delivery& delivery, Moment now) noexcept;
  /// After the process gave up on the connection: every further delivery blocks for good, unacknowledged.
  void abandon() { abandoned_ = true; }

  [[nodiscard]] bool is_connected() const { return connected_; }
  [[nodiscard]] std::int64_t connection() const { return connection_; }
  /// A message has been at the keeper for over kStalledAfter, and the library's lock with it.
  [[nodiscard]] bool stalled(Steady now) const;
  [[nodiscard]] const std::string& canary_topic() const { return canary_topic_; }
  [[nodiscard]] Watch::Due due(Moment now);
  [[nodiscard]] LinkFacts facts(Moment now) const;

 private:
  [[nodiscard]] bool ends_here(const Delivery& delivery, Moment now);
  [[nodiscard]] decode::RawMessage raw(const Delivery& delivery, Moment now) const;
  void keep(const decode::RawMessage& message, Moment now) noexcept;
  void forget_old_losses(Steady now) const;

  Keeper& keeper_;
  const std::string canary_topic_;
  std::atomic<bool> connected_{false};
  std::atomic<bool> abandoned_{false};
  std::atomic<std::int64_t> connection_;
  std::atomic<Steady::rep> keeping_since_{0};

  mutable std::mutex mutex_;
  Watch watch_;
  Replays replays_;
  mutable std::deque<Steady> losses_;
  Steady connected_at_{};
  bool resumed_ = true;
  LinkFacts facts_;
};

}  // namespace setwell::mqtt
