#pragma once

#include <chrono>
#include <cstddef>
#include <memory>
#include <stdexcept>
#include <string>

#include "sensors/room/payloads.hpp"

namespace setwell::room {

struct FeedSettings {
  std::string broker = "127.0.0.1:1883";  ///< host:port, an IPv6 host in brackets
  std::string user;
  std::string password;
  std::size_t window = 50;  ///< at most this many messages wait for their acknowledgement
};

/// The broker cannot be reached or does not take us; the text is for a person.
class FeedFailed : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Publishes at QoS 1 and counts what the broker acknowledged. One thread.
class Feed {
 public:
  /// Connects; throws FeedFailed when that does not work within 10 s.
  explicit Feed(const FeedSettings& settings);
  ~Feed();

  /// Waits while the window is full, and up to a minute for a lost connection to come back; beyond that
  /// throws FeedFailed.
  void publish(const TopicMessage& message);
  /// Waits until all is acknowledged or nothing has been for 30 s, and disconnects.
  void finish();

  [[nodiscard]] std::size_t published() const;
  [[nodiscard]] std::size_t acknowledged() const;

 private:
  class Client;
  std::unique_ptr<Client> client_;
};

}  // namespace setwell::room
