#include <algorithm>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/touch_rules.hpp"
#include "daemon/core/verdict_table.hpp"

namespace setwell::core {
namespace {

using quantity::Hours;
using quantity::Instant;
using quantity::Span;

/// After "not yet" another test tells something once the coat is a tenth older; a judgement.
constexpr int kFreshPart = 10;
constexpr Span kFreshLeast = std::chrono::minutes(5);

/// A touch as it concerns one coat: on the piece itself or on the batch's witness.
struct Felt {
  Touch touch = Touch::wet;
  Instant at;
  bool own = true;
  /// Of `at`, taken worst case: early for what it closes, late for what it delays. A test that opens does so
  /// by what was felt, whenever exactly that was.
  Span error{0};
  [[nodiscard]] Instant earliest() const { return at - error; }
  [[nodiscard]] Instant latest() const { return at + error; }
};

/// The stretch of the record that concerns one coat: from its making to the next coat or now.
struct CoatTime {
  Instant from;
  Instant until;
  [[nodiscard]] bool holds(Instant at) const { return from <= at && at <= until; }
};

CoatTime time_of(const Piece& piece, const Coat& coat, Instant now) {
  Instant until = now;
  for (const Coat& other : piece.coats) {
    if (other.number > coat.number) until = std::min(until, other.happened);
  }
  return {coat.happened, until};
}

std::vector<Felt> felt_during(const CoatTime& time, const Piece& piece,
                              const std::vector<Event<TouchTested>>& witness) {
  std::vector<Felt> felt;
  for (const auto& event : piece.touches) {
    if (time.holds(event.happened)) felt.push_back({event.body.touch, event.happened, true, event.error});
  }
  for (const auto& event : witness) {
    if (time.holds(event.happened)) felt.push_back({event.body.touch, event.happened, false, event.error});
  }
  std::stable_sort(felt.begin(), felt.end(), [](const Felt& a, const Felt& b) { return a.at < b.at; });
  return felt;
}

/// What the touches say under one rule.
class Hand {
 public:
  Hand(const Material& material, int rule, const Outlook& outlook, Evidence& evidence)
      : material_(material), rule_(rule), outlook_(outlook), evidence_(evidence) {}

  void feel(const std::vector<Felt>& felt) {
    Instant last{};
    for (const Felt& one : felt) {
      if (one.own && closes(one) && !evidence_.closed_by_touch) evidence_.closed_by_touch = one.earliest();
      if (!says_something(one)) continue;
      evidence_.touch = one.touch;
      evidence_.touched = one.at;
      last = one.latest();
    }
    if (!evidence_.touched) return;
    const Span age = *evidence_.touched - *evidence_.coated;
    evidence_.tested_lately =
        outlook_.now - *evidence_.touched < std::max<Span>(kFreshLeast, age / kFreshPart);
    evidence_.held_back =
        says(*evidence_.touch, Milestone::recoat_opens) == Proof::not_yet && sure_opening_by(last);
  }

 private:
  [[nodiscard]] const RecoatRule& stated() const { return *rule_at(material_, rule_); }

  [[nodiscard]] std::optional<Proof> says(Touch touch, Milestone milestone) const {
    return proof_of(stated().kind, touch, milestone);
  }

  [[nodiscard]] bool says_something(const Felt& felt) const {
    const auto opening = says(felt.touch, Milestone::recoat_opens);
    if (opening == Proof::not_yet) return true;
    if (!felt.own) return false;
    if (opening == Proof::reached) return may_open_at(felt.at);
    return says(felt.touch, Milestone::recoat_closes).has_value();
  }

  [[nodiscard]] bool may_open_at(Instant at) const {
    if (!decided_by_touch(stated().kind)) return false;
    const ClockReading* flash = outlook_.clock(Milestone::flash_off_over);
    if (flash != nullptr && (!flash->at.slow || at < *flash->at.slow)) return false;
    const Opening opening = opening_of(material_, rule_, outlook_);
    if (opening.at_once) return true;
    return opening.clock != nullptr && !earlier_than_due(*opening.clock, at);
  }

  /// Before a test of this milestone was worth while, and before its sure time.
  [[nodiscard]] static bool earlier_than_due(const ClockReading& clock, Instant at) {
    if (clock.at.slow && at >= *clock.at.slow) return false;
    const auto test_from = test_from_of(clock);
    return !test_from || at < *test_from;
  }

  [[nodiscard]] bool sure_opening_by(Instant at) const {
    const Opening opening = opening_of(material_, rule_, outlook_);
    if (opening.at_once) return true;
    return surely_reached(opening.clock) && opening.clock->at.slow && *opening.clock->at.slow <= at;
  }

  /// `firm` ends tackiness; felt before such a piece should be firm, it says that everything comes early
  /// here, the closing too.
  [[nodiscard]] bool closes(const Felt& felt) const {
    if (says(felt.touch, Milestone::recoat_closes) == Proof::reached) return true;
    if (felt.touch != Touch::firm && felt.touch != Touch::hard) return false;
    const ClockReading* due = nullptr;
    if (stated().kind == RuleKind::open_close) due = opening_of(material_, rule_, outlook_).clock;
    if (stated().kind == RuleKind::early_gap_late) due = outlook_.clock(Milestone::tack_free);
    return due != nullptr && earlier_than_due(*due, felt.at);
  }

  const Material& material_;
  int rule_;
  const Outlook& outlook_;
  Evidence& evidence_;
};

bool washed_during(const CoatTime& time, const Piece& piece, Instant before) {
  return std::any_of(piece.steps.begin(), piece.steps.end(), [&](const Event<StepDone>& step) {
    return step.body.step == Step::washed && time.holds(step.happened) && step.happened <= before;
  });
}

std::optional<Instant> newest_sanding(const CoatTime& time, const Piece& piece) {
  std::optional<Instant> newest;
  for (const auto& step : piece.steps) {
    if (step.body.step == Step::sanded && time.holds(step.happened)) newest = step.happened;
  }
  return newest;
}

void look_at_steps(Evidence& evidence, const Material& material, const CoatTime& time, const Piece& piece,
                   const Outlook& outlook, Hours sanded_lasts) {
  const auto sanding = newest_sanding(time, piece);
  evidence.washed = washed_during(time, piece, sanding.value_or(time.until));
  if (!sanding) return;
  const ClockReading* sandable = sanding_of(outlook);
  const bool in_time = surely_reached(sandable) && sandable->at.slow && *sandable->at.slow <= *sanding;
  evidence.sanded_early = !in_time;
  if (!in_time) return;
  const Instant until = *sanding + std::chrono::duration_cast<Span>(sanded_lasts);
  evidence.sanded = outlook.now <= until;
  if (!evidence.sanded) return;
  evidence.sanded_at = *sanding;
  evidence.sanded_until = until;
  evidence.sanded_unwashed = material.family == Family::epoxy && !evidence.washed;
}

/// Whether the next act still waits for a clock. Milestones reached stay reached, and a touch is no clock.
bool waits_for_a_clock(Region region, RuleKind kind, const Evidence& evidence, bool touch_opens) {
  switch (region) {
    case Region::surely_open:
    case Region::closed_sandable:
    case Region::never:
      return false;
    case Region::worth_a_test:
      return !case_of(kind, region, evidence, touch_opens).opened;
    case Region::may_have_closed:
      return !(case_of(kind, region, evidence, touch_opens).opened && evidence.tested_lately);
    case Region::before_opening:
    case Region::closed_unsanded:
    case Region::in_gap:
      return true;
  }
  return true;
}

}  // namespace

Evidence evidence_of(const Material& material, int rule, const Piece& piece, const Coat& coat,
                     const std::vector<Event<TouchTested>>& witness, const Outlook& outlook,
                     Hours sanded_lasts) {
  Evidence evidence;
  const CoatTime time = time_of(piece, coat, outlook.now);
  evidence.coated = std::max(coat.happened, coat.made.passes > 1 ? coat.made.last_pass : coat.happened);
  evidence.outside_limit = std::any_of(outlook.outside.begin(), outlook.outside.end(),
                                       [](const OutsideCondition& condition) { return condition.is_limit; });
  evidence.cured = surely_reached(outlook.clock(Milestone::full_cure));
  look_at_steps(evidence, material, time, piece, outlook, sanded_lasts);
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return evidence;
  Hand(material, rule, outlook, evidence).feel(felt_during(time, piece, witness));
  const Region region = region_of(material, rule, outlook, evidence);
  evidence.silent = outlook.silent_since.has_value() &&
                    waits_for_a_clock(region, stated->kind, evidence, stated->touch_opens);
  return evidence;
}

}  // namespace setwell::core
