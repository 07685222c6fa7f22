#include "sensors/mqtt/watch.hpp"

namespace setwell::mqtt {

void Watch::connected(Steady now) {
  up_ = true;
  changed_ = proof_ = subscribed_ = now;
  canary_sent_.reset();
  unanswered_ = 0;
}

void Watch::lost(Steady now) {
  if (up_) changed_ = now;
  up_ = false;
}

void Watch::canary_back(Steady now) {
  proof_ = now;
  unanswered_ = 0;
}

void Watch::busy_keeping(Steady now) {
  canary_back(now);
}

bool Watch::deaf(Steady now) const {
  return unanswered_ >= kDeafCanaries && now - proof_ >= pace_.deaf_after;
}

Watch::Due Watch::due(Steady now) {
  return up_ ? due_connected(now) : due_away(now);
}

Watch::Due Watch::due_connected(Steady now) {
  Due due;
  if (deaf(now)) due.leave = LeaveReason::deaf;
  if (!canary_sent_ || now - *canary_sent_ >= pace_.canary_every) {
    due.canary = true;
    canary_sent_ = now;
    ++unanswered_;
  }
  if (now - subscribed_ >= pace_.subscribe_every) {
    due.subscribe = true;
    subscribed_ = now;
  }
  return due;
}

Watch::Due Watch::due_away(Steady now) {
  Due due;
  if (now - changed_ < kProbeAfter || now - probed_ < kProbeEvery) return due;
  due.probe = true;
  probed_ = now;
  return due;
}

}  // namespace setwell::mqtt
