#include "sensors/room/feed.hpp"

#include <deque>
#include <thread>

#include <fmt/format.h>
#include <mqtt/async_client.h>
#include <unistd.h>

namespace setwell::room {
namespace {

using namespace std::chrono_literals;

constexpr auto kConnectWithin = 10s;
constexpr auto kReconnectWithin = 60s;
constexpr auto kAcknowledgeWithin = 30s;

::mqtt::connect_options options(const FeedSettings& settings) {
  ::mqtt::connect_options options;
  options.set_mqtt_version(MQTTVERSION_3_1_1);
  options.set_clean_session(true);
  options.set_keep_alive_interval(20s);
  options.set_automatic_reconnect(1s, 5s);
  if (!settings.user.empty()) {
    options.set_user_name(settings.user);
    options.set_password(settings.password);
  }
  return options;
}

}  // namespace

class Feed::Client {
 public:
  explicit Client(const FeedSettings& settings)
      : window_(std::max<std::size_t>(1, settings.window)),
        client_("tcp://" + settings.broker, fmt::format("setwell-room-{}", ::getpid())) {
    try {
      if (!client_.connect(options(settings))->wait_for(kConnectWithin)) throw FeedFailed("no answer");
    } catch (const std::exception& error) {
      throw FeedFailed(fmt::format("the broker at {} cannot be reached: {}", settings.broker, error.what()));
    }
  }

  void publish(const TopicMessage& message) {
    while (waiting_.size() >= window_)
      settle_oldest();
    waiting_.push_back(send(message));
    ++published_;
  }

  void finish() {
    while (!waiting_.empty())
      settle_oldest();
    try {
      client_.disconnect()->wait_for(5s);
    } catch (const ::mqtt::exception&) {
      // Lost before: nothing to end.
    }
  }

  [[nodiscard]] std::size_t published() const { return published_; }
  [[nodiscard]] std::size_t acknowledged() const { return acknowledged_; }

 private:
  void settle_oldest() {
    try {
      if (waiting_.front()->wait_for(kAcknowledgeWithin)) ++acknowledged_;
    } catch (const ::mqtt::exception&) {
      // Not acknowledged; it shows in the count.
    }
    waiting_.pop_front();
  }

  ::mqtt::delivery_token_ptr send(const TopicMessage& message) {
    const auto deadline = std::chrono::steady_clock::now() + kReconnectWithin;
    while (true) {
      try {
        return client_.publish(message.topic, message.payload.data(), message.payload.size(), 1,
                               message.retained);
      } catch (const ::mqtt::exception& error) {
        if (std::chrono::steady_clock::now() >= deadline) throw FeedFailed(error.what());
        std::this_thread::sleep_for(200ms);
      }
    }
  }

  const std::size_t window_;
  std::size_t published_ = 0;
  std::size_t acknowledged_ = 0;
  std::deque<::mqtt::delivery_token_ptr> waiting_;
  ::mqtt::async_client client_;
};

Feed::Feed(const FeedSettings& settings) : client_(std::make_unique<Client>(settings)) {}
Feed::~Feed() = default;
void Feed::publish(const TopicMessage& message) {
  client_->publish(message);
}
void Feed::finish() {
  client_->finish();
}
std::size_t Feed::published() const {
  return client_->published();
}
std::size_t Feed::acknowledged() const {
  return client_->acknowledged();
}

}  // namespace setwell::room
