#include "sensors/mqtt/sender.hpp"

#include <utility>

namespace setwell::mqtt {
namespace {

void tell(const Sender::Outcome& outcome, PublishOutcome how) {
  if (outcome) outcome(how);
}

}  // namespace

Sender::Sender(Publisher& publisher, std::size_t room, Chore chore)
    : publisher_(publisher),
      room_(room),
      chore_(std::move(chore)),
      chore_due_(std::chrono::steady_clock::now()),
      thread_([this] { run(); }) {}

Sender::~Sender() {
  stop();
}

bool Sender::offer(Publication publication, Outcome outcome) {
  {
    const std::lock_guard lock(mutex_);
    if (stopping_ || line_.size() >= room_) return false;
    line_.push_back({std::move(publication), std::move(outcome)});
  }
  changed_.notify_one();
  return true;
}

void Sender::stop() noexcept {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_one();
  if (thread_.joinable()) thread_.join();
}

void Sender::run() {
  std::unique_lock lock(mutex_);
  while (!stopping_) {
    Job job;
    const bool found = next(lock, job);
    lock.unlock();
    do_chore_if_due();
    if (found) tell(job.outcome, publisher_.publish(job.publication));
    lock.lock();
  }
  lock.unlock();
  answer_rest();
}

bool Sender::next(std::unique_lock<std::mutex>& lock, Job& job) {
  changed_.wait_until(lock, chore_due_, [this] { return stopping_ || !line_.empty(); });
  if (stopping_ || line_.empty()) return false;
  job = std::move(line_.front());
  line_.pop_front();
  return true;
}

void Sender::do_chore_if_due() {
  const auto now = std::chrono::steady_clock::now();
  if (now < chore_due_) return;
  chore_due_ = now + chore_.every;
  if (chore_.work) chore_.work();
}

void Sender::answer_rest() {
  for (auto& job : line_)
    tell(job.outcome, PublishOutcome::not_connected);
  line_.clear();
}

}  // namespace setwell::mqtt
