#include <algorithm>
#include <map>
#include <string_view>
#include <utility>

#include "daemon/core/notice.hpp"
#include "daemon/core/notice_grouping.hpp"

/// The state machine of notices, one pair of subject and kind at a time.
namespace setwell::core {
namespace {

using quantity::Instant;
using quantity::Span;

/// What is measured by a limit wavers about it; what a clock reached does not.
Span hold_time(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::too_cold:
    case NoticeKind::dew_margin_lost:
      return std::chrono::minutes(2);
    case NoticeKind::sensor_silent:
    case NoticeKind::sensor_stuck:
    case NoticeKind::sensor_implausible:
    case NoticeKind::battery_low:
    case NoticeKind::broker_away:
    case NoticeKind::disk_filling:
      return std::chrono::minutes(5);
    case NoticeKind::trouble_ahead:
      return std::chrono::minutes(10);
    default:
      return Span(0);
  }
}

/// Works out one pair: its next state, and whether it is told now.
class PairRound {
 public:
  PairRound(NoticeState state, const NoticeFact& fact, Instant now, const NoticePolicy& policy)
      : state_(std::move(state)), fact_(fact), now_(now), policy_(policy) {}

  void run() {
    switch (fact_.standing) {
      case Standing::holds:
        holds();
        break;
      case Standing::wavers:
        if (state_.phase == NoticePhase::holding) state_.phase = NoticePhase::idle;
        break;
      case Standing::not_yet:
        not_yet();
        break;
      case Standing::over:
        over();
        break;
    }
  }

  [[nodiscard]] const NoticeState& state() const { return state_; }
  [[nodiscard]] bool told() const { return told_; }
  [[nodiscard]] bool withdrawn() const { return withdrawn_; }
  /// Told now only because quiet hours are over.
  [[nodiscard]] bool was_held() const { return told_ && held_; }
  [[nodiscard]] std::optional<Instant> due() const { return due_; }

 private:
  void holds() {
    if (state_.phase == NoticePhase::told) return;
    // What was taken back is told again only when it has become true anew, later than it was taken back.
    if (state_.phase == NoticePhase::withdrawn && fact_.since <= state_.since) return;
    // What was told and over: true again since then, not only looked at again.
    if (state_.phase == NoticePhase::over && fact_.since < state_.since) return;
    if (fact_.useless_after && now_ > *fact_.useless_after) {
      if (state_.phase == NoticePhase::holding) state_.phase = NoticePhase::idle;
      return;
    }
    if (state_.phase != NoticePhase::holding) hold();
    const Instant when = earliest_telling();
    if (when > now_) {
      due_ = when;
      return;
    }
    held_ = after_quiet(without_quiet()) != without_quiet();
    state_.phase = NoticePhase::told;
    state_.last_told = now_;
    ++state_.generation;
    told_ = true;
  }

  void not_yet() {
    wait_for_due();
    // Something over was told too: it may be found untrue after its facts were left out for a while.
    if (state_.phase == NoticePhase::told || state_.phase == NoticePhase::over) {
      take_back();
    } else if (state_.phase == NoticePhase::holding) {
      state_.phase = NoticePhase::idle;
    }
  }

  void take_back() {
    const Instant when = after_quiet(now_);
    if (when > now_) {
      due_ = due_ ? std::min(*due_, when) : when;
      return;
    }
    state_.phase = NoticePhase::withdrawn;
    state_.since = now_;
    withdrawn_ = true;
  }

  void over() {
    wait_for_due();
    if (state_.phase == NoticePhase::told) {
      state_.phase = NoticePhase::over;
      state_.since = now_;
    } else if (state_.phase == NoticePhase::holding) {
      state_.phase = NoticePhase::idle;
    }
  }

  void wait_for_due() {
    if (fact_.due && *fact_.due > now_) due_ = *fact_.due;
  }

  void hold() {
    state_.phase = NoticePhase::holding;
    state_.since = fact_.since;
  }

  [[nodiscard]] Instant after_quiet(Instant when) const {
    return policy_.cannot_wait.contains(fact_.kind) ? when : quiet_ends(policy_.quiet, policy_.zone, when);
  }

  /// When it could be told if there were no quiet hours.
  [[nodiscard]] Instant without_quiet() const {
    // What is measured says "now" each time it is looked at; it began when it was first held.
    const bool measured = hold_time(fact_.kind) > Span(0);
    const auto began = measured && state_.phase == NoticePhase::holding ? state_.since : fact_.since;
    Instant when = began + hold_time(fact_.kind);
    if (state_.last_told) when = std::max(when, *state_.last_told + policy_.least_interval);
    return when;
  }

  [[nodiscard]] Instant earliest_telling() const { return after_quiet(std::max(now_, without_quiet())); }

  NoticeState state_;
  const NoticeFact& fact_;
  Instant now_;
  const NoticePolicy& policy_;
  bool told_ = false;
  bool withdrawn_ = false;
  bool held_ = false;
  std::optional<Instant> due_;
};

/// A pair's fact and stored state, as far as there are any. Views: copying what every piece says of every
/// kind would be most of a round's work.
struct Pair {
  const NoticeFact* fact = nullptr;
  const NoticeState* state = nullptr;
};
using PairKey = std::pair<std::string_view, NoticeKind>;

/// By subject and kind, so that the order in which they were found leaves no trace.
std::map<PairKey, Pair> by_key(std::span<const NoticeState> states, std::span<const NoticeFact> facts) {
  std::map<PairKey, Pair> all;
  for (const auto& fact : facts)
    all[{fact.subject, fact.kind}].fact = &fact;
  for (const auto& state : states)
    all[{state.subject, state.kind}].state = &state;
  return all;
}

}  // namespace

NoticeRound decide_notices(std::span<const NoticeState> states, std::span<const NoticeFact> facts,
                           Instant now, const NoticePolicy& policy) {
  NoticeRound round;
  NoticeFact gone;
  for (const auto& [key, of_key] : by_key(states, facts)) {
    NoticeState before;
    before.subject = key.first;
    before.kind = key.second;
    if (of_key.state != nullptr) before = *of_key.state;
    gone.subject = key.first;
    gone.kind = key.second;
    const auto& fact = of_key.fact != nullptr ? *of_key.fact : gone;
    PairRound pair(before, fact, now, policy);
    pair.run();
    if (pair.state() != before) round.changed.push_back(pair.state());
    if (pair.due() && (!round.next_due || *pair.due() < *round.next_due)) round.next_due = pair.due();
    if (pair.told() || pair.withdrawn()) {
      auto said = fact;
      if (pair.told() && hold_time(said.kind) > Span(0))
        said.since = std::min(said.since, pair.state().since);
      tell(round.tell,
           {std::move(said), pair.withdrawn(), {fact.subject}, pair.state().generation, pair.was_held(), {}});
    }
  }
  gather(round.tell);
  return round;
}

}  // namespace setwell::core
