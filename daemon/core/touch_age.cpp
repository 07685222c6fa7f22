#include "daemon/core/touch_age.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/core/rule_clocks.hpp"

namespace setwell::core {
namespace {

using quantity::Hours;

/// Ages up to this many times the sheet's are told; a power of two, so that it costs no digit.
constexpr double kSlowed = 64.0;

void slow_down(std::optional<TimeTable>& table) {
  if (!table) return;
  for (Row& row : table->rows) {
    if (row.time.wording == Wording::no_limit) continue;
    const Hours middle{kSlowed * std::sqrt(row.time.low.count() * row.time.high.count())};
    row.time = {Wording::exact, middle, middle};
  }
}

Material slowed(Material material) {
  for (auto* table : {&material.flash_off, &material.tack_free, &material.sandable, &material.handling,
                      &material.packing, &material.full_cure, &material.full_strength})
    slow_down(*table);
  for (RecoatRule& rule : material.recoat) {
    for (auto* table : {&rule.opens, &rule.closes, &rule.gap_begins, &rule.gap_ends})
      slow_down(*table);
  }
  for (LoadedRule& rule : material.loaded) {
    if (rule.opens_at_least) rule.opens_at_least = *rule.opens_at_least * kSlowed;
  }
  return material;
}

ClockAge age_of(const SheetClock& clock, const ClockProgress& progress) {
  ClockAge age{clock.milestone, clock.rule, kSlowed * progress.bounds.expected, 0, 0};
  if (progress.likely > 0)
    age.curve_ln = std::log(progress.bounds.expected / progress.likely) / kLikelyQuantile;
  const double half = progress.bounds.slow > 0 ? 0.5 * std::log(progress.bounds.fast / progress.bounds.slow)
                                               : std::numeric_limits<double>::infinity();
  age.doubt_ln = std::max(0.0, half - age.curve_ln);
  return age;
}

RuleKind kind_of(const Material& material, int rule) {
  const RecoatRule* stated = rule_at(material, rule);
  return stated != nullptr ? stated->kind : RuleKind::open_only;
}

bool touch_tells_opening(const RecoatRule& rule) {
  return rule.opens && rule.touch_opens && decided_by_touch(rule.kind);
}

bool touch_tells_closing(const RecoatRule& rule) {
  return rule.closes && rule.kind == RuleKind::while_tacky;
}

void add(std::vector<LearnedShift>& shifts, std::optional<LearnedShift> shift, Milestone milestone,
         int rule) {
  if (!shift) return;
  shift->milestone = milestone;
  shift->rule = rule;
  shifts.push_back(*shift);
}

}  // namespace

std::shared_ptr<const SheetClocks> age_clocks_of(const Material& material, Load load, const PriorBook& book) {
  return clocks_of(slowed(material), load, {1.0, 0.0}, book);
}

std::vector<ClockAge> ages_at(const CoatCase& coat, const AirOf& air, quantity::Instant at) {
  const auto progress = CoatRun(std::make_shared<const CoatCase>(coat)).progress_as_known(air, at);
  std::vector<ClockAge> ages;
  for (std::size_t c = 0; c < progress.size(); ++c) {
    const double expected = progress[c].bounds.expected;
    if ((*coat.clocks)[c].rates && expected > 0 && expected < 1)
      ages.push_back(age_of((*coat.clocks)[c], progress[c]));
  }
  return ages;
}

std::vector<TouchOnClock> tests_on(const Material& material, Milestone milestone, int rule,
                                   std::span<const AgedTouch> touches) {
  std::vector<TouchOnClock> tests;
  for (const AgedTouch& touch : touches) {
    const auto proof = proof_of(kind_of(material, rule), touch.touch, milestone);
    const auto age = std::find_if(touch.ages.begin(), touch.ages.end(), [&](const ClockAge& each) {
      return each.milestone == milestone && each.rule == rule;
    });
    if (proof && age != touch.ages.end()) tests.push_back({*proof, age->ratio, age->doubt_ln, age->curve_ln});
  }
  return tests;
}

std::vector<TestedClock> tested_clocks(const Material& material) {
  std::vector<TestedClock> clocks;
  if (material.tack_free) clocks.push_back({Milestone::tack_free, -1});
  for (std::size_t i = 0; i < material.recoat.size(); ++i) {
    const RecoatRule& rule = material.recoat[i];
    if (touch_tells_opening(rule)) clocks.push_back({Milestone::recoat_opens, static_cast<int>(i)});
    if (touch_tells_closing(rule)) clocks.push_back({Milestone::recoat_closes, static_cast<int>(i)});
  }
  if (material.sandable) clocks.push_back({Milestone::sandable, -1});
  return clocks;
}

const TimeTable* table_behind(const Material& material, Milestone milestone, int rule) {
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return table_of(material, milestone);
  const auto& table = milestone == Milestone::recoat_opens ? stated->opens : stated->closes;
  return table ? &*table : nullptr;
}

std::vector<LearnedShift> shifts_of(const Material& material, const LessonOf& lesson_of, double scatter) {
  std::vector<LearnedShift> shifts;
  for (const TestedClock& clock : tested_clocks(material))
    add(shifts, shift_from(lesson_of(clock.milestone, clock.rule), scatter), clock.milestone, clock.rule);
  for (std::size_t i = 0; i < material.recoat.size(); ++i) {
    const RecoatRule& rule = material.recoat[i];
    const int index = static_cast<int>(i);
    const bool own = touch_tells_opening(rule);
    if (!own && !material.tack_free) continue;
    const auto opening = [&] {
      return own ? lesson_of(Milestone::recoat_opens, index) : lesson_of(Milestone::tack_free, -1);
    };
    if (rule.closes && !touch_tells_closing(rule))
      add(shifts, closing_shift_from(opening(), scatter), Milestone::recoat_closes, index);
    if (rule.gap_begins) add(shifts, closing_shift_from(opening(), scatter), Milestone::gap_begins, index);
  }
  return shifts;
}

}  // namespace setwell::core
