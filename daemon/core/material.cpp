#include "daemon/core/material.hpp"

#include <algorithm>

namespace setwell::core {
namespace {

const TimeTable* pointer_to(const std::optional<TimeTable>& table) {
  return table ? &*table : nullptr;
}

}  // namespace

std::string_view word(Family family) {
  switch (family) {
    case Family::epoxy:
      return "epoxy";
    case Family::urethane:
      return "urethane";
    case Family::moisture_cured_urethane:
      return "moisture-cured-urethane";
    case Family::alkyd:
      return "alkyd";
    case Family::solvent_lacquer:
      return "solvent-lacquer";
    case Family::water_borne:
      return "water-borne";
    case Family::light_cured:
      return "light-cured";
  }
  return "epoxy";
}

std::string_view word(Milestone milestone) {
  switch (milestone) {
    case Milestone::pot_life_over:
      return "pot-life-over";
    case Milestone::flash_off_over:
      return "flash-off-over";
    case Milestone::tack_free:
      return "tack-free";
    case Milestone::recoat_opens:
      return "recoat-opens";
    case Milestone::recoat_closes:
      return "recoat-closes";
    case Milestone::gap_begins:
      return "gap-begins";
    case Milestone::gap_ends:
      return "gap-ends";
    case Milestone::sandable:
      return "sandable";
    case Milestone::handling:
      return "handling";
    case Milestone::packing:
      return "packing";
    case Milestone::full_cure:
      return "full-cure";
    case Milestone::full_strength:
      return "full-strength";
  }
  return "full-strength";
}

std::string_view word(RuleKind kind) {
  switch (kind) {
    case RuleKind::open_only:
      return "open-only";
    case RuleKind::open_close:
      return "open-close";
    case RuleKind::early_gap_late:
      return "early-gap-late";
    case RuleKind::after_full_cure:
      return "after-full-cure";
    case RuleKind::while_tacky:
      return "while-tacky";
  }
  return "open-only";
}

const TimeTable* table_of(const Material& material, Milestone milestone) {
  switch (milestone) {
    case Milestone::pot_life_over:
      return pointer_to(material.pot_life);
    case Milestone::flash_off_over:
      return pointer_to(material.flash_off);
    case Milestone::tack_free:
      return pointer_to(material.tack_free);
    case Milestone::sandable:
      return pointer_to(material.sandable);
    case Milestone::handling:
      return pointer_to(material.handling);
    case Milestone::packing:
      return pointer_to(material.packing);
    case Milestone::full_cure:
      return pointer_to(material.full_cure);
    case Milestone::full_strength:
      return pointer_to(material.full_strength);
    case Milestone::recoat_opens:
    case Milestone::recoat_closes:
    case Milestone::gap_begins:
    case Milestone::gap_ends:
      return nullptr;
  }
  return nullptr;
}

const RecoatRule* rule_for(const Material& material, const quantity::SheetId& top, Family top_family) {
  const auto with_top = [&](std::string_view wanted) -> const RecoatRule* {
    const auto found = std::find_if(material.recoat.begin(), material.recoat.end(),
                                    [&](const RecoatRule& rule) { return rule.top == wanted; });
    return found == material.recoat.end() ? nullptr : &*found;
  };
  if (const auto* rule = with_top(top.text())) return rule;
  if (top == material.id) {
    if (const auto* rule = with_top("self")) return rule;
  }
  if (const auto* rule = with_top(word(top_family))) return rule;
  return with_top("any");
}

}  // namespace setwell::core
