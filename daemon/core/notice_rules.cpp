#include <algorithm>
#include <map>
#include <string_view>
#include <tuple>
#include <utility>

#include "daemon/core/notice.hpp"

/// The state machine of notices, one pair of subject and kind at a time, then grouping.
namespace setwell::core {
namespace {

using quantity::Instant;
using quantity::Span;

/// Windows that open and close within this much of each other are told together.
constexpr auto kAlike = std::chrono::minutes(10);

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

  [[nodiscard]] Instant earliest_telling() const {
    Instant when = std::max(now_, fact_.since + hold_time(fact_.kind));
    if (state_.last_told) when = std::max(when, *state_.last_told + policy_.least_interval);
    return after_quiet(when);
  }

  NoticeState state_;
  const NoticeFact& fact_;
  Instant now_;
  const NoticePolicy& policy_;
  bool told_ = false;
  bool withdrawn_ = false;
  std::optional<Instant> due_;
};

bool near(std::optional<Instant> a, std::optional<Instant> b) {
  if (!a || !b) return a.has_value() == b.has_value();
  return std::chrono::abs(*a - *b) <= kAlike;
}

void later(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other > *mine)) mine = other;
}
void earlier(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other < *mine)) mine = other;
}

/// The same words fit both, but for pieces and times.
bool same_words(const NoticeContent& a, const NoticeContent& b) {
  return a.sheet_name == b.sheet_name && a.top_name == b.top_name && a.zone == b.zone && a.sure == b.sure &&
         a.unfit_air == b.unfit_air && a.by_touch == b.by_touch && a.washes == b.washes &&
         a.flammable == b.flammable && a.sprayed_isocyanate == b.sprayed_isocyanate;
}

/// Both windows or neither, at nearly the same times, and something of them is left where they overlap.
bool same_window(std::optional<Instant> from, std::optional<Instant> until, std::optional<Instant> other_from,
                 std::optional<Instant> other_until) {
  if (!near(from, other_from) || !near(until, other_until)) return false;
  later(from, other_from);
  earlier(until, other_until);
  return !from || !until || *from < *until;
}

bool alike(const Telling& a, const Telling& b) {
  const auto& mine = a.fact.content;
  const auto& theirs = b.fact.content;
  if (a.fact.kind != b.fact.kind || a.withdrawal != b.withdrawal) return false;
  // Each pot has its own end, and each asks for a hand at once.
  if (a.fact.kind == NoticeKind::pot_life_ending) return false;
  if (mine.pieces.empty() || theirs.pieces.empty() || !same_words(mine, theirs)) return false;
  return near(a.fact.since, b.fact.since) && near(a.fact.due, b.fact.due) &&
         near(mine.mix_by, theirs.mix_by) && near(mine.sand_from, theirs.sand_from) &&
         same_window(mine.from, mine.until, theirs.from, theirs.until) &&
         same_window(mine.usable_from, mine.usable_until, theirs.usable_from, theirs.usable_until);
}

/// What is bad is told since it began for the first piece, what was waited for since all have it.
bool is_bad(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::last_start:
    case NoticeKind::closed:
    case NoticeKind::closed_not_sandable:
    case NoticeKind::gap_begins:
    case NoticeKind::too_cold:
    case NoticeKind::dew_margin_lost:
      return true;
    default:
      return false;
  }
}

/// One message for both: the part of the windows that all pieces share.
void merge(Telling& into, const Telling& other) {
  auto& mine = into.fact.content;
  const auto& theirs = other.fact.content;
  mine.pieces.insert(mine.pieces.end(), theirs.pieces.begin(), theirs.pieces.end());
  mine.coats.insert(mine.coats.end(), theirs.coats.begin(), theirs.coats.end());
  into.subjects.insert(into.subjects.end(), other.subjects.begin(), other.subjects.end());
  into.fact.since = is_bad(into.fact.kind) ? std::min(into.fact.since, other.fact.since)
                                           : std::max(into.fact.since, other.fact.since);
  later(into.fact.due, other.fact.due);
  // Told in this same round: no sooner useless than for the one it helps longest.
  if (into.fact.useless_after) {
    if (other.fact.useless_after)
      later(into.fact.useless_after, other.fact.useless_after);
    else
      into.fact.useless_after.reset();
  }
  later(mine.from, theirs.from);
  earlier(mine.until, theirs.until);
  earlier(mine.mix_by, theirs.mix_by);
  later(mine.usable_from, theirs.usable_from);
  earlier(mine.usable_until, theirs.usable_until);
  later(mine.sand_from, theirs.sand_from);
  if (theirs.value && (!mine.value || *theirs.value < *mine.value)) mine.value = theirs.value;
  if (theirs.coldest && (!mine.coldest || *theirs.coldest < *mine.coldest)) {
    mine.coldest = theirs.coldest;
    mine.coldest_at = theirs.coldest_at;
  }
}

void tell(std::vector<Telling>& tellings, Telling fresh) {
  const auto with =
      std::find_if(tellings.begin(), tellings.end(), [&](const Telling& each) { return alike(each, fresh); });
  if (with == tellings.end()) {
    tellings.push_back(std::move(fresh));
  } else {
    merge(*with, fresh);
  }
}

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
      tell(round.tell, {fact, pair.withdrawn(), {fact.subject}, pair.state().generation});
    }
  }
  return round;
}

}  // namespace setwell::core
