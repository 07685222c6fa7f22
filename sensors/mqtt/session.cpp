#include "sensors/mqtt/session.hpp"

#include <algorithm>
#include <chrono>
#include <thread>
#include <utility>

namespace setwell::mqtt {
namespace {

using namespace std::chrono_literals;

/// MQTT 3.1.1's answer to a subscription the broker will not serve.
constexpr int kRefused = 0x80;

}  // namespace

Session::Session(Keeper& keeper, std::string canary_topic, std::int64_t connections_so_far, Watch watch)
    : keeper_(keeper),
      canary_topic_(std::move(canary_topic)),
      connection_(connections_so_far),
      watch_(watch) {}

void Session::session_found(bool found) {
  const std::lock_guard lock(mutex_);
  facts_.session_found = resumed_ = found;
}

void Session::first_attempt_failed(std::string why) {
  const std::lock_guard lock(mutex_);
  facts_.connect_error = std::move(why);
}

void Session::connected(Moment now) {
  const std::lock_guard lock(mutex_);
  // The library shows only on its first connection whether the session was still there.
  if (facts_.last_connected || !facts_.session_found) resumed_ = true;
  facts_.last_connected = now.wall;
  connected_at_ = now.steady;
  replays_.forget();
  watch_.connected(now.steady);
  ++connection_;
  connected_ = true;
}

void Session::lost(Moment now) {
  const std::lock_guard lock(mutex_);
  facts_.last_lost = now.wall;
  losses_.push_back(now.steady);
  forget_old_losses(now.steady);
  watch_.lost(now.steady);
  connected_ = false;
}

void Session::forget_old_losses(Steady now) const {
  while (!losses_.empty() && now - losses_.front() > 60s)
    losses_.pop_front();
}

void Session::subscribed(const std::vector<std::string>& filters, const std::vector<int>& codes) {
  const std::lock_guard lock(mutex_);
  facts_.refused_filters.clear();
  for (std::size_t i = 0; i < std::min(filters.size(), codes.size()); ++i)
    if (codes[i] >= kRefused) facts_.refused_filters.push_back(filters[i]);
}

void Session::deliver(const Delivery& delivery, Moment now) noexcept {
  while (abandoned_)
    std::this_thread::sleep_for(1h);
  while (true) {
    try {
      const decode::RawMessage message = raw(delivery, now);
      if (!ends_here(delivery, now)) keep(message, now);
      return;
    } catch (...) {
      std::this_thread::sleep_for(100ms);
    }
  }
}

bool Session::ends_here(const Delivery& delivery, Moment now) {
  const std::lock_guard lock(mutex_);
  if (delivery.topic == canary_topic_) {
    facts_.last_canary = now.wall;
    watch_.canary_back(now.steady);
    return true;
  }
  if (delivery.retained && replays_.repeats(delivery.topic, delivery.payload)) {
    ++facts_.repeats;
    return true;
  }
  if (!delivery.retained) replays_.live(delivery.topic, delivery.payload);
  return false;
}

decode::RawMessage Session::raw(const Delivery& delivery, Moment now) const {
  decode::RawMessage message;
  message.topic = delivery.topic;
  message.payload = delivery.payload.substr(0, decode::kLargestPayload);
  message.payload_size = delivery.payload.size();
  message.received = now.wall;
  message.qos = delivery.qos;
  message.retained = delivery.retained;
  message.duplicate = delivery.duplicate;
  const std::lock_guard lock(mutex_);
  message.connection = connection_;
  message.since_connected = std::chrono::duration_cast<quantity::Span>(now.steady - connected_at_);
  message.session_resumed = resumed_;
  return message;
}

void Session::keep(const decode::RawMessage& message, Moment now) noexcept {
  keeping_since_ = std::max<Steady::rep>(1, now.steady.time_since_epoch().count());
  keeper_.keep(message);
  keeping_since_ = 0;
  const std::lock_guard lock(mutex_);
  ++facts_.messages;
}

Watch::Due Session::due(Moment now) {
  const std::lock_guard lock(mutex_);
  if (stalled(now.steady)) {
    // The library's lock is held until the keeper is done; whatever is due waits.
    watch_.busy_keeping(now.steady);
    return {};
  }
  return watch_.due(now.steady);
}

bool Session::stalled(Steady now) const {
  const auto since = keeping_since_.load();
  return since != 0 && now - Steady(Steady::duration(since)) > kStalledAfter;
}

LinkFacts Session::facts(Moment now) const {
  const std::lock_guard lock(mutex_);
  forget_old_losses(now.steady);
  LinkFacts facts = facts_;
  facts.connected = connected_;
  facts.connections = connection_;
  facts.losses_last_minute = static_cast<int>(losses_.size());
  facts.id_contested = facts.losses_last_minute >= kContestedLosses;
  if (const auto since = keeping_since_.load(); since != 0)
    facts.keeping = std::chrono::duration_cast<quantity::Span>(now.steady - Steady(Steady::duration(since)));
  return facts;
}

}  // namespace setwell::mqtt
