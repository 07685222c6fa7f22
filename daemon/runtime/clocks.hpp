#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>

#include "sensors/quantity/instant.hpp"

namespace setwell::runtime {

using SteadyInstant = std::chrono::steady_clock::time_point;

/// The two times a daemon lives by. Wall: what every rule of the workshop goes by; may be rehearsed and may
/// step. Steady: deadlines, backoff and the watchdog; always real and never goes back. Thread: every function
/// may be called on any thread.
class Clock {
 public:
  Clock() = default;
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;
  virtual ~Clock() = default;

  [[nodiscard]] virtual quantity::Instant wall_now() const = 0;
  [[nodiscard]] virtual SteadyInstant steady_now() const = 0;
};

/// The machine's own clocks.
class RealClock final : public Clock {
 public:
  [[nodiscard]] quantity::Instant wall_now() const override {
    return std::chrono::floor<quantity::Span>(std::chrono::system_clock::now());
  }
  [[nodiscard]] SteadyInstant steady_now() const override { return std::chrono::steady_clock::now(); }
};

/// Rehearsal: the wall time is the newest device time taken from a reading. It stands still between readings.
class RehearsalClock final : public Clock {
 public:
  /// `start`: the wall time until the first reading.
  explicit RehearsalClock(quantity::Instant start) : wall_ms_(quantity::to_ms(start)) {}

  /// Goes to `at`; does nothing when that would be a step back. Loop thread only.
  void advance_to(quantity::Instant at) {
    if (quantity::to_ms(at) > wall_ms_.load()) wall_ms_.store(quantity::to_ms(at));
  }

  [[nodiscard]] quantity::Instant wall_now() const override {
    return quantity::instant_from_ms(wall_ms_.load());
  }
  [[nodiscard]] SteadyInstant steady_now() const override { return std::chrono::steady_clock::now(); }

 private:
  std::atomic<std::int64_t> wall_ms_;
};

}  // namespace setwell::runtime
