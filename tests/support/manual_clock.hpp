#pragma once

#include "daemon/runtime/clocks.hpp"

namespace setwell::test_support {

/// Both times stand still until they are moved. Any thread may read, one moves.
class ManualClock final : public runtime::Clock {
 public:
  explicit ManualClock(quantity::Instant start) : wall_ms_(quantity::to_ms(start)) {}

  /// Time goes by on both clocks.
  void pass(quantity::Span span) {
    wall_ms_ += span.count();
    steady_ms_ += span.count();
  }
  /// Somebody sets the wall clock.
  void set_wall(quantity::Instant at) { wall_ms_ = quantity::to_ms(at); }

  [[nodiscard]] quantity::Instant wall_now() const override { return quantity::instant_from_ms(wall_ms_); }
  [[nodiscard]] runtime::SteadyInstant steady_now() const override {
    return runtime::SteadyInstant(quantity::Span(steady_ms_));
  }

 private:
  std::atomic<std::int64_t> wall_ms_;
  std::atomic<std::int64_t> steady_ms_{1'000'000};
};

}  // namespace setwell::test_support
