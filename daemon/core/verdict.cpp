#include "daemon/core/verdict.hpp"

#include <algorithm>
#include <array>

#include "daemon/core/touch_rules.hpp"
#include "daemon/core/verdict_table.hpp"

namespace setwell::core {
namespace {

using enum Region;
using enum RuleKind;

template <typename... Enum>
constexpr unsigned any_of(Enum... values) {
  return ((1u << static_cast<unsigned>(values)) | ...);
}

constexpr unsigned kTouchKinds = any_of(open_only, open_close, while_tacky);

constexpr std::array kRows{
    VerdictRow{.silent = Want::yes, .verdict = Verdict::no_readings},
    // Nothing opens a gap: no sanding, no touch.
    VerdictRow{.regions = any_of(in_gap), .verdict = Verdict::do_not_coat},
    // No coat is left to be put on.
    VerdictRow{.schedule_done = Want::yes, .cured = Want::yes, .verdict = Verdict::cured},
    VerdictRow{.schedule_done = Want::yes, .verdict = Verdict::wait},
    VerdictRow{.regions = any_of(never, before_opening, closed_unsanded), .verdict = Verdict::wait},
    // Closed: sanding opens it again.
    VerdictRow{.regions = any_of(closed_sandable),
               .outside_limit = Want::no,
               .reopened = Want::yes,
               .verdict = Verdict::recoat},
    VerdictRow{.regions = any_of(closed_sandable), .reopened = Want::yes, .verdict = Verdict::wait},
    VerdictRow{.regions = any_of(closed_sandable), .verdict = Verdict::sand_first},
    // Open by the clocks, unless the finger said otherwise.
    VerdictRow{.kinds = kTouchKinds,
               .regions = any_of(surely_open),
               .held_back = Want::yes,
               .tested_lately = Want::yes,
               .verdict = Verdict::wait},
    VerdictRow{.kinds = kTouchKinds,
               .regions = any_of(surely_open),
               .held_back = Want::yes,
               .verdict = Verdict::touch_test},
    VerdictRow{.regions = any_of(surely_open), .outside_limit = Want::no, .verdict = Verdict::recoat},
    VerdictRow{.regions = any_of(surely_open), .verdict = Verdict::wait},
    // Not sure by the clocks: the finger decides, where the rule is one for fingers.
    VerdictRow{.kinds = kTouchKinds,
               .regions = any_of(worth_a_test),
               .outside_limit = Want::no,
               .opened = Want::yes,
               .verdict = Verdict::recoat},
    VerdictRow{
        .kinds = kTouchKinds, .regions = any_of(worth_a_test), .opened = Want::yes, .verdict = Verdict::wait},
    VerdictRow{.kinds = kTouchKinds,
               .regions = any_of(worth_a_test),
               .tested_lately = Want::no,
               .touch_opens = Want::yes,
               .verdict = Verdict::touch_test},
    // It may have stopped being tacky: only a fresh touch keeps it open.
    VerdictRow{.kinds = any_of(while_tacky),
               .regions = any_of(may_have_closed),
               .outside_limit = Want::no,
               .opened = Want::yes,
               .tested_lately = Want::yes,
               .verdict = Verdict::recoat},
    VerdictRow{.kinds = any_of(while_tacky),
               .regions = any_of(may_have_closed),
               .tested_lately = Want::no,
               .touch_opens = Want::yes,
               .verdict = Verdict::touch_test},
    VerdictRow{.verdict = Verdict::wait},
};

bool meets(Want want, bool fact) {
  return want == Want::whatever || (want == Want::yes) == fact;
}

template <typename Enum>
bool has(unsigned set, Enum value) {
  return (set >> static_cast<unsigned>(value) & 1u) != 0;
}

}  // namespace

std::string_view word(Verdict verdict) {
  switch (verdict) {
    case Verdict::no_readings:
      return "no-readings";
    case Verdict::do_not_coat:
      return "do-not-coat";
    case Verdict::recoat:
      return "recoat";
    case Verdict::touch_test:
      return "touch-test";
    case Verdict::sand_first:
      return "sand-first";
    case Verdict::cured:
      return "cured";
    case Verdict::wait:
      return "wait";
  }
  return "wait";
}

std::string_view word(Region region) {
  switch (region) {
    case before_opening:
      return "before-opening";
    case worth_a_test:
      return "worth-a-test";
    case surely_open:
      return "surely-open";
    case may_have_closed:
      return "may-have-closed";
    case closed_unsanded:
      return "closed-unsanded";
    case closed_sandable:
      return "closed-sandable";
    case in_gap:
      return "in-gap";
    case never:
      return "never";
  }
  return "never";
}

std::span<const VerdictRow> verdict_rows() {
  return kRows;
}

bool fits(const VerdictRow& row, const VerdictCase& which) {
  return has(row.kinds, which.kind) && has(row.regions, which.region) && meets(row.silent, which.silent) &&
         meets(row.schedule_done, which.schedule_done) && meets(row.cured, which.cured) &&
         meets(row.outside_limit, which.outside_limit) && meets(row.reopened, which.reopened) &&
         meets(row.opened, which.opened) && meets(row.held_back, which.held_back) &&
         meets(row.tested_lately, which.tested_lately) && meets(row.touch_opens, which.touch_opens);
}

VerdictCase case_of(RuleKind kind, Region region, const Evidence& evidence, bool touch_opens) {
  VerdictCase which;
  which.kind = kind;
  which.region = region;
  which.silent = evidence.silent;
  which.schedule_done = evidence.schedule_done;
  which.cured = evidence.cured;
  which.outside_limit = evidence.outside_limit || evidence.air_unfit;
  which.reopened = evidence.sanded && !evidence.sanded_unwashed;
  which.opened = touch_opens && evidence.touch &&
                 proof_of(kind, *evidence.touch, Milestone::recoat_opens) == Proof::reached;
  which.held_back = evidence.held_back;
  which.tested_lately = evidence.tested_lately;
  which.touch_opens = touch_opens;
  return which;
}

Verdict verdict_for(RuleKind kind, Region region, const Evidence& evidence, bool touch_opens) {
  const VerdictCase which = case_of(kind, region, evidence, touch_opens);
  const auto row = std::find_if(kRows.begin(), kRows.end(),
                                [&](const VerdictRow& candidate) { return fits(candidate, which); });
  return row->verdict;
}

}  // namespace setwell::core
