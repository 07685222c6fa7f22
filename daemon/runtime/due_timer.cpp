#include "daemon/runtime/due_timer.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

namespace setwell::runtime {

namespace {

using std::chrono::milliseconds;

struct Moments {
  quantity::Instant wall;
  SteadyInstant steady;
};

bool clock_stepped(const Moments& before, const Moments& now) {
  const auto wall = now.wall - before.wall;
  const auto steady = std::chrono::duration_cast<milliseconds>(now.steady - before.steady);
  return std::chrono::abs(wall - steady) > DueTimer::kStep;
}

}  // namespace

struct DueTimer::State : std::enable_shared_from_this<State> {
  State(boost::asio::io_context& loop, const Clock& its_clock, Due its_due, milliseconds longest)
      : timer(loop), clock(its_clock), due(std::move(its_due)), longest_wait(longest) {}

  [[nodiscard]] Moments look() const { return {clock.wall_now(), clock.steady_now()}; }

  void wait() {
    const auto left = std::clamp(*at - clock.wall_now(), milliseconds(0), longest_wait);
    timer.expires_after(left);
    timer.async_wait([self = shared_from_this(), turn = turn](const boost::system::error_code&) {
      if (turn == self->turn && self->at) self->look_again();
    });
  }

  void look_again() {
    const auto now = look();
    if (now.wall < *at && !clock_stepped(seen, now)) {
      seen = now;
      return wait();
    }
    at.reset();
    // The callee may arm again or destroy the timer; nothing of ours is touched after it.
    due();
  }

  boost::asio::steady_timer timer;
  const Clock& clock;
  Due due;
  milliseconds longest_wait;
  std::optional<quantity::Instant> at;
  Moments seen{};
  /// Tells the wait that is armed from one that was replaced but had already run out.
  std::uint64_t turn = 0;
};

DueTimer::DueTimer(boost::asio::io_context& loop, const Clock& clock, Due due, milliseconds longest_wait)
    : state_(std::make_shared<State>(loop, clock, std::move(due), longest_wait)) {}

DueTimer::~DueTimer() {
  disarm();
}

void DueTimer::arm(quantity::Instant at) {
  state_->at = at;
  state_->seen = state_->look();
  ++state_->turn;
  state_->wait();
}

void DueTimer::disarm() {
  state_->at.reset();
  ++state_->turn;
  state_->timer.cancel();
}

}  // namespace setwell::runtime
