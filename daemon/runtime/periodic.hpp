#pragma once

#include <chrono>
#include <functional>
#include <memory>

namespace boost::asio {
class io_context;
}

namespace setwell::runtime {

/// Calls every `pause` of steady time on the loop, first after one pause, until destroyed. A call that takes
/// longer than the pause delays the next one; calls never pile up. Thread: loop only.
class Periodic {
 public:
  Periodic(boost::asio::io_context& loop, std::chrono::microseconds pause, std::function<void()> call);
  ~Periodic();
  Periodic(const Periodic&) = delete;
  Periodic& operator=(const Periodic&) = delete;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace setwell::runtime
