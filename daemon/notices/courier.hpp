#pragma once

#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

#include "daemon/notices/route_sender.hpp"

namespace setwell::notices {

/// A thread for what blocks: one job at a time, in the order they came. It takes no signals, so a broken pipe
/// is an error of the write and never ends the program.
/// Threads: all functions are for the loop; `job` and `done` run on the courier's own thread.
class Courier {
 public:
  using Job = std::function<SendResult()>;
  using Done = std::function<void(SendResult)>;

  Courier();
  Courier(const Courier&) = delete;
  Courier& operator=(const Courier&) = delete;
  /// Closes, and waits for the running job however long it takes.
  ~Courier();

  /// A job that throws has failed, with what it said. Whoever hands jobs in bounds their number: the pump has
  /// one per route under way. After `close` nothing is taken and `done` is never called.
  void run(Job job, Done done);

  /// No further job is begun; those not yet begun are dropped.
  void close() noexcept;
  /// Waits until the thread has ended after `close`, at most until `deadline`. Answers whether it has.
  [[nodiscard]] bool ended_by(std::chrono::steady_clock::time_point deadline);

 private:
  struct Errand {
    Job job;
    Done done;
  };
  void work();

  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<Errand> errands_;
  bool closed_ = false;
  bool ended_ = false;
  std::thread thread_;
};

}  // namespace setwell::notices
