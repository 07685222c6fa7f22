#pragma once

#include "sensors/decode/raw_message.hpp"

namespace setwell::mqtt {

/// Where arriving messages are made durable before they are acknowledged.
/// Thread: called on the MQTT library's own thread only, one call at a time.
class Keeper {
 public:
  Keeper() = default;
  Keeper(const Keeper&) = delete;
  Keeper& operator=(const Keeper&) = delete;
  virtual ~Keeper() = default;

  /// Returns only once the message is committed; blocks and tries again as long as the disk refuses, so that
  /// the broker keeps what we cannot. Never throws, never parses, never calls the MQTT library.
  virtual void keep(const decode::RawMessage& message) noexcept = 0;
};

/// The only door from another thread into the daemon's loop: asks it to look at the inbox.
class Wake {
 public:
  Wake() = default;
  Wake(const Wake&) = delete;
  Wake& operator=(const Wake&) = delete;
  virtual ~Wake() = default;

  /// Any thread; cheap, never blocks, may be rung many times for one look.
  virtual void ring() noexcept = 0;
};

}  // namespace setwell::mqtt
