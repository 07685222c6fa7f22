#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/review_findings.hpp"

/// What the interval to the coat below says, against the window as it really was.
namespace setwell::core {
namespace {

std::string progress_text(const ClockReading& clock) {
  return fmt::format("{} stood at {:.0f} % ({:.0f} to {:.0f} %)", word(clock.milestone),
                     100 * clock.progress.expected, 100 * clock.progress.slow, 100 * clock.progress.fast);
}

std::string interval_text(const IntervalFacts& interval) {
  std::string text =
      fmt::format("{} after the coat below",
                  show(std::chrono::duration_cast<quantity::Span>(interval.to - interval.from)));
  if (interval.error > std::chrono::minutes(20)) text += " (± " + show(interval.error) + ")";
  return text;
}

/// How sure it is that a clock has come: the opposite of being short of it.
double past(const ClockReading* clock) {
  return -short_of(clock);
}

bool felt_open(const IntervalFacts& interval) {
  if (interval.rule == nullptr || !interval.rule->touch_opens || !interval.last_touch) return false;
  return *interval.last_touch == Touch::firm || *interval.last_touch == Touch::hard ||
         *interval.last_touch == Touch::powders;
}

void find_too_soon(const IntervalFacts& interval, Findings& findings) {
  const auto* opens = interval.rule_clock(Milestone::recoat_opens);
  if (interval.rule != nullptr && interval.rule->kind == RuleKind::after_full_cure)
    opens = interval.clock(Milestone::full_cure);
  if (opens == nullptr) {
    // Open at once by the sheet, or nothing stated: tack-free is then the least one would wait for.
    if (interval.rule != nullptr)
      return findings.set(Finding::too_soon, interval.rule->kind == RuleKind::early_gap_late ? -1 : -0.3,
                          "the sheet lets it be coated at once");
    const auto* tack = interval.clock(Milestone::tack_free);
    if (tack != nullptr)
      findings.set(Finding::too_soon, 0.7 * short_of(tack),
                   interval_text(interval) + ", " + progress_text(*tack));
    return;
  }
  const double value = felt_open(interval) ? -1 : short_of(opens);
  findings.set(Finding::too_soon, value, interval_text(interval) + ", " + progress_text(*opens));
}

void find_in_gap(const IntervalFacts& interval, Findings& findings) {
  if (interval.rule == nullptr) return;
  if (interval.rule->kind != RuleKind::early_gap_late)
    return findings.set(Finding::in_gap, -1, "the sheet knows no gap there");
  const auto* begins = interval.rule_clock(Milestone::gap_begins);
  const auto* ends = interval.rule_clock(Milestone::gap_ends);
  if (begins == nullptr || ends == nullptr) return;
  const double value = std::min(past(begins), short_of(ends));
  findings.set(Finding::in_gap, value,
               interval_text(interval) + ", " + progress_text(*begins) + ", " + progress_text(*ends));
}

void find_too_late(const IntervalFacts& interval, Findings& findings) {
  if (interval.sanded != nullptr) {
    findings.set(Finding::sanded_between, 1, "sanded before it was coated");
    return findings.set(Finding::too_late, -1, interval_text(interval) + ", and sanded before");
  }
  findings.set(Finding::sanded_between, -0.5, "no sanding is logged between the coats");
  if (interval.rule == nullptr) return;
  const auto* closes = interval.rule_clock(Milestone::recoat_closes);
  if (closes == nullptr && interval.rule->kind == RuleKind::while_tacky)
    closes = interval.clock(Milestone::tack_free);
  if (closes == nullptr || closes->no_limit)
    return findings.set(Finding::too_late, -1, "the sheet sets no end to the window");
  findings.set(Finding::too_late, past(closes),
               interval_text(interval) + ", " + progress_text(*closes) + ", no sanding logged");
}

void find_surface(const Facts& facts, const IntervalFacts& interval, Findings& findings) {
  if (interval.last_touch) {
    const bool tacky = *interval.last_touch == Touch::tacky || *interval.last_touch == Touch::strings;
    findings.set(Finding::tacky_when_coated, tacky ? 1 : -1,
                 fmt::format("felt {} before it was coated", word(*interval.last_touch)));
  }
  if (facts.below->material == nullptr) return;
  if (facts.below->material->family != Family::epoxy)
    return findings.set(Finding::unwashed, -1, "what lies below is no epoxy");
  if (interval.washed != nullptr) return findings.set(Finding::unwashed, -1, "washed before it was coated");
  const double set_already = past(interval.clock(Milestone::tack_free));
  if (set_already > 0)
    findings.set(Finding::unwashed, 0.7 * set_already, "no wash is logged between the coats");
}

bool gives_off_solvent(Family family) {
  return family == Family::solvent_lacquer || family == Family::alkyd || family == Family::urethane ||
         family == Family::moisture_cured_urethane;
}

void find_below_uncured(const Facts& facts, const IntervalFacts& interval, Findings& findings) {
  const auto* cured = interval.clock(Milestone::full_cure);
  if (cured == nullptr) cured = interval.clock(Milestone::handling);
  if (cured == nullptr) return;
  double value = short_of(cured);
  const bool alike = facts.coat.coat->made.sheet == facts.below->coat->made.sheet;
  // Inside a window that the sheet states for this very material, half-cured is what it should be.
  const bool stated = interval.rule != nullptr && interval.rule->kind != RuleKind::after_full_cure &&
                      (alike || interval.rule->top != "any");
  if (stated && value > 0) value = 0;
  findings.set(Finding::below_uncured, value, "the coat below: " + progress_text(*cured));
}

void find_pair(const Facts& facts, const IntervalFacts& interval, Findings& findings) {
  const auto* below = facts.below->material;
  const auto* top = facts.coat.material;
  if (below == nullptr || top == nullptr) return;
  const bool alkyd = top->family == Family::alkyd && below->family == Family::epoxy;
  findings.set(Finding::alkyd_on_epoxy, alkyd ? 1 : -1, "an oil-modified paint over epoxy");
  const auto pair = fmt::format("{} over {}", word(top->family), word(below->family));
  if (top->id == below->id || !gives_off_solvent(top->family)) {
    findings.set(Finding::foreign_solvent, -1, pair);
  } else if (top->family != below->family) {
    const bool cured_epoxy = below->family == Family::epoxy && findings.value(Finding::below_uncured) <= -1;
    findings.set(Finding::foreign_solvent, cured_epoxy ? 0 : 1, pair);
  } else {
    findings.set(Finding::foreign_solvent, 0.4, pair + ", of another sheet");
  }
  const auto* tack = interval.clock(Milestone::tack_free);
  const bool minutes = interval.hours() < 0.5 && interval.error <= std::chrono::minutes(30);
  const bool wet = top->id != below->id &&
                   ((tack != nullptr && tack->progress.expected < 0.6) || (tack == nullptr && minutes));
  findings.set(Finding::wet_in_wet, wet ? 1 : -1, interval_text(interval) + ", while it was wet");
}

}  // namespace

void find_in_interval(const CaseFile&, const Facts& facts, Findings& findings) {
  findings.set(Finding::has_below, facts.below ? 1 : -1,
               facts.below ? "there is a coat below" : "it is the first coat");
  if (!facts.interval || !facts.below) return;
  const auto& interval = *facts.interval;
  find_too_soon(interval, findings);
  find_in_gap(interval, findings);
  find_too_late(interval, findings);
  find_surface(facts, interval, findings);
  find_below_uncured(facts, interval, findings);
  find_pair(facts, interval, findings);
}

}  // namespace setwell::core
