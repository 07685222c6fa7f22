#include <algorithm>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/touch_rules.hpp"
#include "daemon/core/verdict_table.hpp"

namespace setwell::core {
namespace {

using quantity::Instant;

std::optional<Instant> slow_of(const ClockReading* clock) {
  return clock == nullptr || clock->no_limit ? std::nullopt : clock->at.slow;
}

std::optional<Instant> fast_of(const ClockReading* clock) {
  return clock == nullptr || clock->no_limit ? std::nullopt : clock->at.fast;
}

std::optional<Instant> earlier(std::optional<Instant> a, std::optional<Instant> b) {
  if (!a || !b) return a ? a : b;
  return std::min(*a, *b);
}

/// All that judging one coat under one rule looks at.
struct Question {
  const Material& material;
  int rule;
  const RecoatRule& stated;
  const std::string& top;
  const Evidence& evidence;
  const Outlook& outlook;
};

bool opened_by_touch(const Question& q) {
  return case_of(q.stated.kind, Region::worth_a_test, q.evidence, q.stated.touch_opens).opened;
}

std::string after_closing(const Question& q) {
  return sanding_of(q.outlook) != nullptr ? "sand-first" : "wait";
}

/// The window has an end but no sure beginning before it. A closing that already lies behind counts too.
bool is_sure(const Window& window) {
  return !window.until || (window.from && *window.from < *window.until);
}

void offer_a_test(const Question& q, const ClockReading* opening, Window& window) {
  if (opening == nullptr || !q.stated.touch_opens || !decided_by_touch(q.stated.kind)) return;
  const auto test_from = test_from_of(*opening);
  if (!test_from || (window.from && *test_from >= *window.from)) return;
  if (window.until && *test_from >= *window.until) return;
  window.test_from = test_from;
}

void open_by_touch(const Question& q, Window& window) {
  if (!opened_by_touch(q) || (window.from && *window.from <= *q.evidence.touched)) return;
  if (window.until && *window.until <= *q.evidence.touched) return;
  window.from = q.evidence.touched;
  window.by_touch = true;
}

Window first_window(const Question& q, std::optional<Instant> until, std::string otherwise) {
  const Opening opening = opening_of(q.material, q.rule, q.outlook);
  Window window;
  window.top = q.top;
  window.from = opening.at_once ? q.evidence.coated : slow_of(opening.clock);
  window.until = earlier(until, q.evidence.closed_by_touch);
  window.otherwise = std::move(otherwise);
  window.sure = opening.at_once || is_sure(window);
  offer_a_test(q, opening.clock, window);
  open_by_touch(q, window);
  return window;
}

Window late_window(const Question& q) {
  Window window;
  window.top = q.top;
  window.from = slow_of(q.outlook.clock(Milestone::gap_ends, q.rule));
  window.until = fast_of(closing_of(q.material, q.rule, q.outlook));
  window.sure = is_sure(window);
  window.otherwise = window.until ? after_closing(q) : "wait";
  return window;
}

std::vector<Window> windows_of(const Question& q) {
  switch (q.stated.kind) {
    case RuleKind::open_only:
    case RuleKind::after_full_cure: {
      Window window = first_window(q, std::nullopt, "wait");
      window.until.reset();
      window.sure = true;
      return {window};
    }
    case RuleKind::open_close:
    case RuleKind::while_tacky:
      return {first_window(q, fast_of(closing_of(q.material, q.rule, q.outlook)), after_closing(q))};
    case RuleKind::early_gap_late: {
      const auto gap = fast_of(q.outlook.clock(Milestone::gap_begins, q.rule));
      return {first_window(q, gap, "do-not-coat"), late_window(q)};
    }
  }
  return {};
}

void add_sanded_window(const Question& q, Region region, std::vector<Window>& windows) {
  if (region != Region::closed_sandable || !q.evidence.sanded || q.evidence.sanded_unwashed) return;
  Window window;
  window.top = q.top;
  window.from = q.evidence.sanded_at;
  window.until = q.evidence.sanded_until;
  windows.push_back(std::move(window));
}

std::string recoat_with(const std::string& top) {
  return top.empty() || top == "any" ? "recoat" : "recoat with " + top;
}

std::string sand_and_recoat(const Material& material, const Evidence& evidence, const std::string& top) {
  const bool wash = material.family == Family::epoxy && !evidence.washed;
  return std::string(wash ? "wash with water, let it dry, sand" : "sand") + ", wipe, let the wipe dry, " +
         recoat_with(top);
}

/// A light-cured film stays as it is until it gets more lamp.
bool waits_for_lamp(const Question& q) {
  const auto opening = opening_of(q.material, q.rule, q.outlook);
  return q.material.family == Family::light_cured && opening.clock != nullptr &&
         !opening.clock->reached.slow && !opening.clock->not_known.empty();
}

/// Whether nothing but a limit keeps it from being `recoat`.
bool kept_by_a_limit(const Question& q, const Judgement& judged) {
  if (judged.verdict == Verdict::recoat) return false;
  Evidence within = q.evidence;
  within.outside_limit = within.air_unfit = false;
  return verdict_for(q.stated.kind, judged.region, within, q.stated.touch_opens) == Verdict::recoat;
}

std::string next_act(const Question& q, const Judgement& judged) {
  switch (judged.verdict) {
    case Verdict::no_readings:
      return "see to the sensor, or log a reading by hand";
    case Verdict::do_not_coat:
      return "leave it until the gap has ended, then " + recoat_with(q.top);
    case Verdict::recoat:
      return recoat_with(q.top);
    case Verdict::touch_test:
      return "touch test on a hidden spot, gloved";
    case Verdict::sand_first:
      return sand_and_recoat(q.material, q.evidence, q.top);
    case Verdict::cured:
      return "nothing more to do";
    case Verdict::wait:
      break;
  }
  if (waits_for_lamp(q)) return "more minutes under the lamp, then " + recoat_with(q.top);
  if (q.evidence.schedule_done) return "let it cure";
  if (kept_by_a_limit(q, judged)) {
    return q.evidence.outside_limit
               ? "ask its manufacturer before coating it: a limit of the sheet was passed"
               : "wait for air within the sheet's limits, then " + recoat_with(q.top);
  }
  if (judged.region == Region::never) return "leave it: the sheet has no way to coat it";
  if (judged.region == Region::closed_unsanded) {
    return "leave it until it can be sanded, then " + sand_and_recoat(q.material, q.evidence, q.top);
  }
  return recoat_with(q.top);
}

std::string what_touches_mean(const Question& q) {
  if (!q.stated.touch_opens || !decided_by_touch(q.stated.kind)) return "no touch opens it; sand first later";
  if (q.stated.kind == RuleKind::while_tacky) {
    return "strings: too soon; tacky: recoat now; firm: sand first";
  }
  return "tacky: too soon; firm before the closing: recoat now; firm after it: sand first";
}

bool without_sure_window(const Window& window) {
  return !window.sure && !window.by_touch;
}

std::string closed_remark(const Question& q, Region region, const Judgement& judged) {
  std::string text;
  const bool two = q.stated.kind == RuleKind::early_gap_late;
  if (without_sure_window(judged.windows.at(two ? 1 : 0))) {
    text = "no sure window: it may close before it surely opens; ";
  }
  if (q.evidence.closed_by_touch && q.stated.kind != RuleKind::while_tacky) {
    text = "firm earlier than such a piece should be, so its window counts as closed; ";
  }
  if (region == Region::closed_unsanded) {
    text += sanding_of(q.outlook) != nullptr
                ? "too late to coat unsanded, too soon to sand"
                : "too late to coat unsanded, and the sheet does not say when it can be sanded";
    if (q.evidence.sanded_early) text += "; sanded before the sure time for it, which does not open it again";
  } else if (q.evidence.sanded_unwashed) {
    text += "sanded, but no washing is logged: was it washed with water before sanding?";
  } else if (q.evidence.sanded && q.evidence.outside_limit) {
    text += "outside a limit of the sheet";
  }
  while (text.ends_with(' ') || text.ends_with(';'))
    text.pop_back();
  return text;
}

std::string gap_remark(const Question& q) {
  std::string text = "in the gap between the early and the late window: a coat now may wrinkle it";
  if (q.evidence.closed_by_touch) text += "; firm earlier than expected, so the gap counts as begun";
  return text;
}

/// For everything before a closing: what keeps it from being open, or by what it is open.
std::string opening_remark(const Question& q, const Judgement& judged) {
  if (judged.region == Region::may_have_closed && judged.verdict == Verdict::recoat) {
    return "still tacky by your touch: recoat now, or test again";
  }
  if (judged.region == Region::may_have_closed) {
    return "it may have stopped being tacky: strings: too soon; tacky: recoat now; firm: sand first";
  }
  if (q.evidence.outside_limit && judged.region != Region::before_opening)
    return "outside a limit of the sheet";
  if (q.evidence.held_back && decided_by_touch(q.stated.kind)) {
    return "the touch said " + std::string(word(*q.evidence.touch)) + " after the sure opening: test again";
  }
  if (judged.windows.front().by_touch && judged.verdict == Verdict::recoat) {
    return "opened by your touch, before the sure time";
  }
  if (!without_sure_window(judged.windows.front())) return "";
  if (q.stated.kind == RuleKind::early_gap_late) {
    return judged.region == Region::surely_open ? "" : "no sure early window: wait for the late one";
  }
  return "no sure window: it may close before it surely opens; " + what_touches_mean(q);
}

std::string remark_of(const Question& q, const Judgement& judged) {
  if (waits_for_lamp(q)) return opening_of(q.material, q.rule, q.outlook).clock->not_known;
  if (judged.verdict == Verdict::no_readings) return "nothing trusted to run on since the readings stopped";
  if (judged.verdict == Verdict::do_not_coat) return gap_remark(q);
  if (q.evidence.schedule_done) return "";
  if (q.evidence.air_unfit && !q.evidence.outside_limit && kept_by_a_limit(q, judged)) {
    return std::string(judged.windows.front().by_touch ? "opened by your touch, before the sure time; "
                                                       : "") +
           "this air is outside a limit of what goes on next";
  }
  switch (judged.region) {
    case Region::closed_unsanded:
    case Region::closed_sandable:
      return closed_remark(q, judged.region, judged);
    case Region::never:
      return "the sheet asks for full cure first and does not state when that is";
    default:
      return opening_remark(q, judged);
  }
}

/// With no coat left, full cure is what decides.
Evidence with_schedule(Evidence evidence, const Outlook& outlook) {
  if (evidence.schedule_done) evidence.silent = outlook.silent_since.has_value() && !evidence.cured;
  return evidence;
}

Judgement without_rule(const Evidence& evidence) {
  Judgement judged;
  judged.region = Region::never;
  judged.verdict = verdict_for(RuleKind::open_only, Region::never, evidence, false);
  judged.next = evidence.schedule_done ? "let it cure" : "leave it: the sheet has no way to coat it";
  if (judged.verdict == Verdict::cured) judged.next = "nothing more to do";
  if (judged.verdict == Verdict::no_readings) judged.next = "see to the sensor, or log a reading by hand";
  if (!evidence.schedule_done) judged.remark = "the sheet states nothing about this on top";
  return judged;
}

}  // namespace

Judgement judge(const Material& material, int rule, const std::string& top, const Evidence& evidence,
                const Outlook& outlook) {
  const Evidence known = with_schedule(evidence, outlook);
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return without_rule(known);
  const Question question{material, rule, *stated, top, known, outlook};
  Judgement judged;
  judged.region = region_of(material, rule, outlook, known);
  judged.verdict = verdict_for(stated->kind, judged.region, known, stated->touch_opens);
  judged.windows = windows_of(question);
  add_sanded_window(question, judged.region, judged.windows);
  judged.next = next_act(question, judged);
  judged.remark = remark_of(question, judged);
  return judged;
}

}  // namespace setwell::core
