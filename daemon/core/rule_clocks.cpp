#include "daemon/core/rule_clocks.hpp"

#include <algorithm>

namespace setwell::core {
namespace {

Region opening_region(const Opening& opening, const Outlook& outlook) {
  if (opening.at_once || surely_reached(opening.clock)) return Region::surely_open;
  if (opening.clock == nullptr) return Region::before_opening;
  const auto test_from = test_from_of(*opening.clock);
  return test_from && *test_from <= outlook.now ? Region::worth_a_test : Region::before_opening;
}

Region closed_region(const Outlook& outlook) {
  return surely_reached(sanding_of(outlook)) ? Region::closed_sandable : Region::closed_unsanded;
}

Region open_close_region(const Material& material, int rule, const Outlook& outlook) {
  if (possibly_reached(closing_of(material, rule, outlook))) return closed_region(outlook);
  return opening_region(opening_of(material, rule, outlook), outlook);
}

Region while_tacky_region(const Material& material, int rule, const Outlook& outlook) {
  const RecoatRule& stated = *rule_at(material, rule);
  const ClockReading* closing = closing_of(material, rule, outlook);
  // Where tackiness alone is the rule, between the bounds of tack-free only the finger can tell.
  const bool finger_tells = !stated.closes && stated.touch_opens;
  if (!finger_tells || !possibly_reached(closing)) return open_close_region(material, rule, outlook);
  if (surely_reached(closing)) return closed_region(outlook);
  const Region opening = opening_region(opening_of(material, rule, outlook), outlook);
  return opening == Region::before_opening ? opening : Region::may_have_closed;
}

Region gap_region(const Material& material, int rule, const Outlook& outlook) {
  const ClockReading* begins = outlook.clock(Milestone::gap_begins, rule);
  if (surely_reached(outlook.clock(Milestone::gap_ends, rule))) {
    return possibly_reached(closing_of(material, rule, outlook)) ? closed_region(outlook)
                                                                 : Region::surely_open;
  }
  // A gap without a clock for its beginning could be anywhere.
  if (begins == nullptr || possibly_reached(begins)) return Region::in_gap;
  return opening_region(opening_of(material, rule, outlook), outlook);
}

Region full_cure_region(const Outlook& outlook) {
  const ClockReading* cure = outlook.clock(Milestone::full_cure);
  if (cure == nullptr || cure->no_limit) return Region::never;
  return surely_reached(cure) ? Region::surely_open : Region::before_opening;
}

/// Of two clocks the one that is surely there last.
const ClockReading* later_surely(const ClockReading* a, const ClockReading* b) {
  if (a == nullptr || b == nullptr) return a != nullptr ? a : b;
  if (!a->at.slow || !b->at.slow) return a->at.slow ? b : a;
  return *a->at.slow >= *b->at.slow ? a : b;
}

bool is_closed(Region region) {
  return region == Region::closed_unsanded || region == Region::closed_sandable || region == Region::in_gap ||
         region == Region::never;
}

}  // namespace

const RecoatRule* rule_at(const Material& material, int rule) {
  if (rule < 0 || static_cast<std::size_t>(rule) >= material.recoat.size()) return nullptr;
  return &material.recoat[static_cast<std::size_t>(rule)];
}

Opening opening_of(const Material& material, int rule, const Outlook& outlook) {
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return {};
  if (stated->kind == RuleKind::after_full_cure) return {false, outlook.clock(Milestone::full_cure)};
  const ClockReading* opens = outlook.clock(Milestone::recoat_opens, rule);
  if (stated->opens) return {false, opens};
  // "At once" still means once the solvent has left, and not before what flake or pigment asks for.
  const ClockReading* flash = outlook.clock(Milestone::flash_off_over);
  if (material.flash_off && flash == nullptr) return {false, nullptr};
  const ClockReading* last = later_surely(opens, flash);
  return {last == nullptr, last};
}

const ClockReading* closing_of(const Material& material, int rule, const Outlook& outlook) {
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return nullptr;
  if (stated->kind == RuleKind::while_tacky && !stated->closes) return outlook.clock(Milestone::tack_free);
  return stated->closes ? outlook.clock(Milestone::recoat_closes, rule) : nullptr;
}

const ClockReading* sanding_of(const Outlook& outlook) {
  const ClockReading* sandable = outlook.clock(Milestone::sandable);
  return sandable != nullptr ? sandable : outlook.clock(Milestone::full_cure);
}

std::optional<quantity::Instant> test_from_of(const ClockReading& clock) {
  if (!clock.likely_at || !clock.expected_at_upper) return std::nullopt;
  return std::max(*clock.likely_at, *clock.expected_at_upper);
}

bool surely_reached(const ClockReading* clock) {
  return clock != nullptr && !clock->no_limit && clock->reached.slow;
}

bool possibly_reached(const ClockReading* clock) {
  return clock != nullptr && !clock->no_limit && clock->reached.fast;
}

Region region_of(const Material& material, int rule, const Outlook& outlook) {
  const RecoatRule* stated = rule_at(material, rule);
  if (stated == nullptr) return Region::never;
  switch (stated->kind) {
    case RuleKind::open_only:
      return opening_region(opening_of(material, rule, outlook), outlook);
    case RuleKind::open_close:
      return open_close_region(material, rule, outlook);
    case RuleKind::early_gap_late:
      return gap_region(material, rule, outlook);
    case RuleKind::after_full_cure:
      return full_cure_region(outlook);
    case RuleKind::while_tacky:
      return while_tacky_region(material, rule, outlook);
  }
  return Region::never;
}

Region region_of(const Material& material, int rule, const Outlook& outlook, const Evidence& evidence) {
  const Region region = region_of(material, rule, outlook);
  if (!evidence.closed_by_touch || *evidence.closed_by_touch > outlook.now || is_closed(region))
    return region;
  if (rule_at(material, rule)->kind != RuleKind::early_gap_late) return closed_region(outlook);
  const bool late = surely_reached(outlook.clock(Milestone::gap_ends, rule));
  return late ? region : Region::in_gap;
}

}  // namespace setwell::core
