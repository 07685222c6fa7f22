#include <algorithm>
#include <map>
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
    case NoticeKind::dew_margin_lost: return std::chrono::minutes(2);
    case NoticeKind::sensor_silent:
    case NoticeKind::sensor_stuck:
    case NoticeKind::broker_away:
    case NoticeKind::disk_filling: return std::chrono::minutes(5);
    default: return Span(0);
  }
}

using Key = std::pair<std::string, NoticeKind>;

/// Works out one pair: its next state, and whether it is told now.
class PairRound {
 public:
  PairRound(NoticeState state, const NoticeFact& fact, Instant now, const NoticePolicy& policy)
      : state_(std::move(state)), fact_(fact), now_(now), policy_(policy) {}

  void run() {
    switch (fact_.standing) {
      case Standing::holds: holds(); break;
      case Standing::not_yet: not_yet(); break;
      case Standing::over: over(); break;
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
    if (state_.phase == NoticePhase::over && !comes_anew()) return;
    if (fact_.useless_after && now_ > *fact_.useless_after) {
      pass_by();
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
    if (state_.phase == NoticePhase::told) {
      state_.phase = NoticePhase::withdrawn;
      state_.since = now_;
      withdrawn_ = true;
    } else if (state_.phase == NoticePhase::holding) {
      state_.phase = NoticePhase::idle;
    }
    if (fact_.due && *fact_.due > now_) due_ = *fact_.due;
  }

  void over() {
    if (state_.phase == NoticePhase::told || state_.phase == NoticePhase::holding) {
      state_.phase = NoticePhase::over;
      state_.since = now_;
    }
    if (fact_.due && *fact_.due > now_) due_ = *fact_.due;
  }

  /// Something that was over holds again: true again since then, not only looked at again.
  [[nodiscard]] bool comes_anew() const { return fact_.since >= state_.since || !state_.last_told; }

  void hold() {
    state_.phase = NoticePhase::holding;
    state_.since = fact_.since;
  }

  /// Too late to be of use: never told, and not asked about again.
  void pass_by() {
    state_.phase = NoticePhase::over;
    state_.since = now_;
  }

  [[nodiscard]] Instant earliest_telling() const {
    Instant when = std::max(now_, fact_.since + hold_time(fact_.kind));
    if (state_.last_told) when = std::max(when, *state_.last_told + policy_.least_interval);
    if (!policy_.cannot_wait.contains(fact_.kind)) when = quiet_ends(policy_.quiet, policy_.zone, when);
    return when;
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

bool alike(const Telling& a, const Telling& b) {
  if (a.fact.kind != b.fact.kind || a.withdrawal != b.withdrawal) return false;
  if (a.fact.kind == NoticeKind::pot_life_ending) return false;
  if (a.fact.content.pieces.empty() || b.fact.content.pieces.empty()) return false;
  return a.fact.content.sheet_name == b.fact.content.sheet_name &&
         a.fact.content.top_name == b.fact.content.top_name && a.fact.content.sure == b.fact.content.sure &&
         a.fact.content.by_touch == b.fact.content.by_touch && near(a.fact.content.from, b.fact.content.from) &&
         near(a.fact.content.until, b.fact.content.until);
}

void later(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other > *mine)) mine = other;
}
void earlier(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other < *mine)) mine = other;
}

/// One message for both: the part of the windows that all pieces share.
void merge(Telling& into, const Telling& other) {
  auto& mine = into.fact.content;
  const auto& theirs = other.fact.content;
  mine.pieces.insert(mine.pieces.end(), theirs.pieces.begin(), theirs.pieces.end());
  mine.coats.insert(mine.coats.end(), theirs.coats.begin(), theirs.coats.end());
  into.subjects.insert(into.subjects.end(), other.subjects.begin(), other.subjects.end());
  later(mine.from, theirs.from);
  earlier(mine.until, theirs.until);
  earlier(mine.mix_by, theirs.mix_by);
  later(mine.usable_from, theirs.usable_from);
  earlier(mine.usable_until, theirs.usable_until);
  later(mine.sand_from, theirs.sand_from);
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

/// Facts by subject and kind, so that the order in which they were found leaves no trace.
std::map<Key, NoticeFact> by_key(std::span<const NoticeState> states, std::span<const NoticeFact> facts) {
  std::map<Key, NoticeFact> all;
  for (const auto& fact : facts)
    all.insert_or_assign({fact.subject, fact.kind}, fact);
  for (const auto& state : states) {
    NoticeFact gone;
    gone.subject = state.subject;
    gone.kind = state.kind;
    all.try_emplace({state.subject, state.kind}, std::move(gone));
  }
  return all;
}

}  // namespace

NoticeRound decide_notices(std::span<const NoticeState> states, std::span<const NoticeFact> facts, Instant now,
                           const NoticePolicy& policy) {
  std::map<Key, const NoticeState*> known;
  for (const auto& state : states)
    known[{state.subject, state.kind}] = &state;
  NoticeRound round;
  for (const auto& [key, fact] : by_key(states, facts)) {
    const auto old = known.find(key);
    NoticeState before;
    before.subject = key.first;
    before.kind = key.second;
    if (old != known.end()) before = *old->second;
    PairRound pair(before, fact, now, policy);
    pair.run();
    if (pair.state() != before) round.changed.push_back(pair.state());
    if (pair.due() && (!round.next_due || *pair.due() < *round.next_due)) round.next_due = pair.due();
    if (pair.told() || pair.withdrawn()) {
      tell(round.tell, {fact, pair.withdrawn(), {key.first}, pair.state().generation});
    }
  }
  return round;
}

}  // namespace setwell::core
