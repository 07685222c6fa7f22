#include "daemon/core/touch_rules.hpp"

#include <algorithm>
#include <array>

namespace setwell::core {
namespace {

using enum Touch;
using enum Milestone;
using enum RuleKind;

constexpr std::array kTable{
    // On every material.
    TouchRule{std::nullopt, wet, tack_free, Proof::not_yet},
    TouchRule{std::nullopt, strings, tack_free, Proof::not_yet},
    TouchRule{std::nullopt, tacky, tack_free, Proof::not_yet},
    TouchRule{std::nullopt, firm, tack_free, Proof::reached},
    TouchRule{std::nullopt, hard, tack_free, Proof::reached},
    TouchRule{std::nullopt, gums, sandable, Proof::not_yet},
    TouchRule{std::nullopt, powders, tack_free, Proof::reached},
    TouchRule{std::nullopt, powders, sandable, Proof::reached},
    // Rules of firmness.
    TouchRule{open_only, wet, recoat_opens, Proof::not_yet},
    TouchRule{open_only, strings, recoat_opens, Proof::not_yet},
    TouchRule{open_only, tacky, recoat_opens, Proof::not_yet},
    TouchRule{open_only, firm, recoat_opens, Proof::reached},
    TouchRule{open_only, hard, recoat_opens, Proof::reached},
    TouchRule{open_close, wet, recoat_opens, Proof::not_yet},
    TouchRule{open_close, strings, recoat_opens, Proof::not_yet},
    TouchRule{open_close, tacky, recoat_opens, Proof::not_yet},
    TouchRule{open_close, firm, recoat_opens, Proof::reached},
    TouchRule{open_close, hard, recoat_opens, Proof::reached},
    // While tacky: it must print, and nothing may transfer.
    TouchRule{while_tacky, wet, recoat_opens, Proof::not_yet},
    TouchRule{while_tacky, strings, recoat_opens, Proof::not_yet},
    TouchRule{while_tacky, tacky, recoat_opens, Proof::reached},
    TouchRule{while_tacky, tacky, recoat_closes, Proof::not_yet},
    TouchRule{while_tacky, firm, recoat_closes, Proof::reached},
    TouchRule{while_tacky, hard, recoat_closes, Proof::reached},
};

bool speaks_under(const TouchRule& rule, RuleKind kind, Touch touch) {
  return rule.touch == touch && (!rule.kind || *rule.kind == kind);
}

}  // namespace

std::span<const TouchRule> touch_rules() {
  return kTable;
}

std::optional<Proof> proof_of(RuleKind kind, Touch touch, Milestone milestone) {
  const auto found = std::find_if(kTable.begin(), kTable.end(), [&](const TouchRule& rule) {
    return speaks_under(rule, kind, touch) && rule.milestone == milestone;
  });
  if (found == kTable.end()) return std::nullopt;
  return found->proof;
}

std::vector<TouchRule> proofs_of(RuleKind kind, Touch touch) {
  std::vector<TouchRule> proofs;
  std::copy_if(kTable.begin(), kTable.end(), std::back_inserter(proofs),
               [&](const TouchRule& rule) { return speaks_under(rule, kind, touch); });
  return proofs;
}

bool decided_by_touch(RuleKind kind) {
  return kind == open_only || kind == open_close || kind == while_tacky;
}

bool is_sanding_trial(Touch touch) {
  return touch == gums || touch == powders;
}

quantity::Result<void> may_be_logged(Touch touch, const Outlook& outlook) {
  if (!is_sanding_trial(touch)) return {};
  const ClockReading* clock = outlook.clock(tack_free);
  if (clock == nullptr) clock = outlook.clock(sandable);
  if (clock != nullptr && clock->reached.slow) return {};
  return quantity::refused(
      "too early for a sanding trial: the coat is not surely tack-free yet, and dust of half-cured material "
      "harms skin and lungs; test with a gloved finger instead");
}

std::string_view dust_caution() {
  return "Sanding dust of material that is not fully cured can make you allergic for life: wear a particle "
         "mask and gloves, sand wet where the datasheet allows it, and follow the product's own datasheet.";
}

}  // namespace setwell::core
