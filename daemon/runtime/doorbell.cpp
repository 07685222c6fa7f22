#include "daemon/runtime/doorbell.hpp"

#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>

namespace setwell::runtime {

struct Doorbell::State {
  std::atomic<bool> rung = false;
  bool open = true;  ///< loop only
  Answer answer;
};

Doorbell::Doorbell(boost::asio::io_context& loop, Answer answer)
    : loop_(loop), state_(std::make_shared<State>()) {
  state_->answer = std::move(answer);
}

Doorbell::~Doorbell() {
  state_->open = false;
}

void Doorbell::ring() noexcept {
  if (state_->rung.exchange(true)) return;
  try {
    boost::asio::post(loop_, [state = state_] {
      // Cleared first: what comes in while answering rings again.
      state->rung.store(false);
      if (state->open) state->answer();
    });
  } catch (...) {
    state_->rung.store(false);
  }
}

}  // namespace setwell::runtime
