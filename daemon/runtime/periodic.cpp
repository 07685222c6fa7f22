#include "daemon/runtime/periodic.hpp"

#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

namespace setwell::runtime {

struct Periodic::State : std::enable_shared_from_this<State> {
  State(boost::asio::io_context& loop, std::chrono::microseconds its_pause, std::function<void()> its_call)
      : timer(loop), pause(its_pause), call(std::move(its_call)) {}

  void wait() {
    timer.expires_after(pause);
    timer.async_wait([self = shared_from_this()](const boost::system::error_code&) {
      if (self->open) self->call();
      if (self->open) self->wait();
    });
  }

  boost::asio::steady_timer timer;
  std::chrono::microseconds pause;
  std::function<void()> call;
  bool open = true;
};

Periodic::Periodic(boost::asio::io_context& loop, std::chrono::microseconds pause, std::function<void()> call)
    : state_(std::make_shared<State>(loop, pause, std::move(call))) {
  state_->wait();
}

Periodic::~Periodic() {
  state_->open = false;
  state_->timer.cancel();
}

}  // namespace setwell::runtime
