#pragma once

#include <algorithm>
#include <chrono>
#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "sensors/mqtt/keeper.hpp"
#include "sensors/mqtt/source.hpp"
#include "tests/support/loopback.hpp"

namespace setwell::test {

/// Keeps messages in memory; may be told to do something, such as wait, while one is being kept.
class MemoryKeeper : public mqtt::Keeper {
 public:
  std::function<void(const decode::RawMessage&)> meanwhile;

  void keep(const decode::RawMessage& message) noexcept override {
    if (meanwhile) meanwhile(message);
    const std::lock_guard lock(mutex_);
    kept_.push_back(message);
  }
  [[nodiscard]] std::vector<decode::RawMessage> kept() const {
    const std::lock_guard lock(mutex_);
    return kept_;
  }
  [[nodiscard]] std::size_t count() const { return kept().size(); }
  [[nodiscard]] bool has(const std::string& payload) const {
    const auto all = kept();
    return std::any_of(all.begin(), all.end(), [&](const auto& each) { return each.payload == payload; });
  }

 private:
  mutable std::mutex mutex_;
  std::vector<decode::RawMessage> kept_;
};

inline mqtt::SourceSettings hearing(std::uint16_t port, std::vector<std::string> filters,
                                    const std::string& client_id = "setwelld") {
  mqtt::SourceSettings settings;
  settings.broker.port = port;
  settings.broker.client_id = client_id;
  settings.filters = std::move(filters);
  return settings;
}

/// For tests that wait for what the product does every few seconds.
inline constexpr mqtt::Pace kHurried{std::chrono::seconds(1), std::chrono::seconds(2),
                                     std::chrono::seconds(6)};

/// Calls `tend` as the sender does, so that a test has the canary and the filters looked after.
class Tending {
 public:
  explicit Tending(mqtt::Source& source)
      : thread_([this, &source] {
          while (!done_) {
            source.tend();
            std::this_thread::sleep_for(std::chrono::milliseconds(200));
          }
        }) {}
  Tending(const Tending&) = delete;
  Tending& operator=(const Tending&) = delete;
  ~Tending() {
    done_ = true;
    thread_.join();
  }

 private:
  std::atomic<bool> done_{false};
  std::thread thread_;
};

inline bool connects(const mqtt::Source& source) {
  return eventually(std::chrono::seconds(15), [&] { return source.facts().connected; });
}

/// Connected, and the broker has answered the subscription, shown by the canary coming back.
inline bool hears(mqtt::Source& source) {
  return connects(source) && eventually(std::chrono::seconds(15), [&] {
           source.tend();
           return source.facts().last_canary.has_value();
         });
}

}  // namespace setwell::test
