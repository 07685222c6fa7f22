#pragma once

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

#include "sensors/mqtt/publisher.hpp"

namespace setwell::mqtt {

/// The one thread that publishes. Publications wait in a bounded line and go out one after the other; between
/// them a chore is done at its period (the source's `tend`).
///
/// Every publication that `offer` took is answered exactly once, on this thread, also when the sender stops:
/// then with `not_connected` for those that never went out.
class Sender {
 public:
  using Outcome = std::function<void(PublishOutcome)>;
  struct Chore {
    std::function<void()> work;  ///< must not throw
    std::chrono::milliseconds every{1000};
  };

  /// Starts the thread. The publisher must outlive the sender. At most `room` publications wait.
  Sender(Publisher& publisher, std::size_t room, Chore chore);
  Sender(const Sender&) = delete;
  Sender& operator=(const Sender&) = delete;
  /// Stops.
  ~Sender();

  /// Any thread; never waits for the broker. False when the line is full or the sender has stopped: then
  /// nothing is called. `outcome` must be quick and must not throw; it may offer again.
  [[nodiscard]] bool offer(Publication publication, Outcome outcome);

  /// Waits for the publication that is under way (at most the publisher's deadline; interrupt the publisher
  /// first to make it short), answers the rest and ends the thread. Not from an outcome.
  void stop() noexcept;

 private:
  struct Job {
    Publication publication;
    Outcome outcome;
  };

  void run();
  [[nodiscard]] bool next(std::unique_lock<std::mutex>& lock, Job& job);
  void do_chore_if_due();
  void answer_rest();

  Publisher& publisher_;
  const std::size_t room_;
  const Chore chore_;
  std::chrono::steady_clock::time_point chore_due_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<Job> line_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace setwell::mqtt
