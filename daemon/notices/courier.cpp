#include "daemon/notices/courier.hpp"

#include <csignal>
#include <exception>
#include <utility>

#include <pthread.h>

namespace setwell::notices {
namespace {

/// Signals are the loop's: a thread inherits the mask of the one that starts it.
class SignalsBlocked {
 public:
  SignalsBlocked() {
    sigset_t all;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before_);
  }
  SignalsBlocked(const SignalsBlocked&) = delete;
  SignalsBlocked& operator=(const SignalsBlocked&) = delete;
  ~SignalsBlocked() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }

 private:
  sigset_t before_{};
};

SendResult outcome_of(const Courier::Job& job) {
  try {
    return job();
  } catch (const std::exception& fault) {
    return SendResult::failed(fault.what());
  }
}

}  // namespace

Courier::Courier() {
  const SignalsBlocked blocked;
  thread_ = std::thread([this] { work(); });
}

Courier::~Courier() {
  close();
  if (thread_.joinable()) thread_.join();
}

void Courier::run(Job job, Done done) {
  {
    const std::lock_guard lock(mutex_);
    if (closed_) return;
    errands_.push_back({std::move(job), std::move(done)});
  }
  changed_.notify_all();
}

void Courier::close() noexcept {
  {
    const std::lock_guard lock(mutex_);
    closed_ = true;
    errands_.clear();
  }
  changed_.notify_all();
}

bool Courier::ended_by(std::chrono::steady_clock::time_point deadline) {
  std::unique_lock lock(mutex_);
  return changed_.wait_until(lock, deadline, [this] { return ended_; });
}

void Courier::work() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return closed_ || !errands_.empty(); });
    if (closed_) break;
    const auto errand = std::move(errands_.front());
    errands_.pop_front();
    lock.unlock();
    errand.done(outcome_of(errand.job));
    lock.lock();
  }
  ended_ = true;
  changed_.notify_all();
}

}  // namespace setwell::notices
