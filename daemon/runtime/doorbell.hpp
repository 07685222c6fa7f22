#pragma once

#include <atomic>
#include <functional>
#include <memory>

namespace boost::asio {
class io_context;
}

namespace setwell::runtime {

/// The one door from other threads into the loop. Many rings before the loop gets to it are one call.
/// Thread: `ring` from any thread; everything else, and the call itself, on the loop.
class Doorbell {
 public:
  using Answer = std::function<void()>;

  /// `loop` must outlive every call of `ring`.
  Doorbell(boost::asio::io_context& loop, Answer answer);
  /// What was rung and not yet answered is dropped.
  ~Doorbell();
  Doorbell(const Doorbell&) = delete;
  Doorbell& operator=(const Doorbell&) = delete;

  /// Never blocks on the loop; a ring that finds no memory is made good by the next one.
  void ring() noexcept;

 private:
  struct State;
  boost::asio::io_context& loop_;
  std::shared_ptr<State> state_;
};

}  // namespace setwell::runtime
