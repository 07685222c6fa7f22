#pragma once

#include <atomic>
#include <optional>
#include <string>
#include <vector>

#include <mqtt/async_client.h>

#include "sensors/mqtt/session.hpp"
#include "sensors/mqtt/source.hpp"

// Only source.cpp and callbacks.cpp include this: the MQTT library ends here.
namespace setwell::mqtt {

/// The library's client, its callbacks, and the state they keep.
/// The library's own name for a message, `mqtt::message`, lives in ::mqtt.
class Source::Client {
 public:
  Client(SourceSettings settings, SourceHandlers handlers, Keeper& keeper);

  void start();
  void tend();
  [[nodiscard]] PublishOutcome publish(const Publication& publication);
  void interrupt() { interrupted_ = true; }
  [[nodiscard]] StopOutcome stop();
  [[nodiscard]] Moment now() const;
  [[nodiscard]] const Session& session() const { return session_; }
  [[nodiscard]] bool may_be_destroyed() const { return !started_ || disconnected_; }
  [[nodiscard]] bool abandoned() const { return abandoned_; }

 private:
  /// What came of a subscription, an unsubscription or the first attempt to connect.
  class Listener : public ::mqtt::iaction_listener {
   public:
    using Told = void (Client::*)(const ::mqtt::token&);
    Listener(Client& client, Told success, Told failure)
        : client_(client), success_(success), failure_(failure) {}
    void on_success(const ::mqtt::token& token) override;
    void on_failure(const ::mqtt::token& token) override;

   private:
    Client& client_;
    Told success_;
    Told failure_;
  };

  // callbacks.cpp: on the library's thread, holding its lock.
  void install_handlers();
  void on_connected() noexcept;
  void on_lost() noexcept;
  void on_message(const ::mqtt::message& message) noexcept;
  void on_connect_answered(const ::mqtt::token& token);
  void on_connect_failed(const ::mqtt::token& token);
  void on_subscribed(const ::mqtt::token& token);
  void on_subscribe_failed(const ::mqtt::token& token);
  void on_unsubscribed(const ::mqtt::token& token);
  void on_unsubscribe_failed(const ::mqtt::token& token);
  void subscribe_all();
  void unsubscribe_unwanted();
  void tell_held(const std::vector<std::string>& filters) const;
  void tell_changed() const;

  // source.cpp: on the sender's thread or that of `stop`.
  [[nodiscard]] ::mqtt::connect_options options() const;
  [[nodiscard]] bool wait_until_kept(Steady deadline) const;
  [[nodiscard]] bool gone(std::int64_t connection) const;
  [[nodiscard]] PublishOutcome await(::mqtt::delivery_token& token, std::int64_t connection,
                                     Steady deadline) const;
  void send_canary();
  void tell_leave(LeaveReason reason) const;
  [[nodiscard]] bool disconnect(Steady deadline);

  const BrokerAddress address_;
  const SourceHandlers handlers_;
  const std::vector<std::string> filters_;
  const std::vector<std::string> unwanted_;
  std::vector<std::string> subscriptions_;  ///< the filters and the canary's topic
  Session session_;
  std::atomic<bool> unwanted_gone_{false};
  std::atomic<bool> interrupted_{false};
  std::atomic<bool> stopping_{false};
  bool started_ = false;
  bool disconnected_ = false;
  bool abandoned_ = false;
  std::uint64_t canaries_ = 0;
  Listener connect_listener_;
  Listener subscribe_listener_;
  Listener unsubscribe_listener_;
  ::mqtt::async_client client_;  ///< last: gone before anything its callbacks use
};

}  // namespace setwell::mqtt
