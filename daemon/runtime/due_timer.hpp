#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>

#include "daemon/runtime/clocks.hpp"

namespace boost::asio {
class io_context;
}

namespace setwell::runtime {

/// Watches one moment of wall time by steady waits. A wait is never longer than `longest_wait`; after each
/// the wall clock is looked at again, so that a step of it (someone set the time, the machine slept) is
/// noticed: it calls at once, and whoever is called asks anew what is due. Thread: loop only.
class DueTimer {
 public:
  using Due = std::function<void()>;
  static constexpr std::chrono::milliseconds kLongestWait{4000};
  /// What wall and steady time may differ over a wait before it counts as a step.
  static constexpr std::chrono::milliseconds kStep{2000};

  /// `loop` and `clock` must outlive it. `due` is called on the loop, never from within `arm`.
  DueTimer(boost::asio::io_context& loop, const Clock& clock, Due due,
           std::chrono::milliseconds longest_wait = kLongestWait);
  /// Calls nothing any more.
  ~DueTimer();
  DueTimer(const DueTimer&) = delete;
  DueTimer& operator=(const DueTimer&) = delete;

  /// Calls once at `at` (at once when that is past), or when the clock steps. Replaces what was armed.
  void arm(quantity::Instant at);
  void disarm();

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace setwell::runtime
