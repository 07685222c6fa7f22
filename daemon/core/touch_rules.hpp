#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "daemon/core/entry.hpp"
#include "daemon/core/outlook.hpp"
#include "sensors/quantity/error.hpp"

/// What a gloved finger (or a sanding trial) proves: one table for verdicts and for learning.
namespace setwell::core {

/// What a touch says of a milestone at the moment it was felt.
enum class Proof { not_yet, reached };

/// One line of the table: under this kind of rule (none: under every kind) this word proves that of the
/// milestone.
struct TouchRule {
  std::optional<RuleKind> kind;
  Touch touch = Touch::wet;
  Milestone milestone = Milestone::tack_free;
  Proof proof = Proof::not_yet;
  friend bool operator==(const TouchRule&, const TouchRule&) = default;
};

/// The whole table. A word proves only what stands here: nothing of flash-off, packing or full cure, and
/// nothing of recoating where the rule is neither one of firmness nor one of tackiness.
[[nodiscard]] std::span<const TouchRule> touch_rules();

/// What `touch` proves of `milestone` under a rule; nothing where it proves nothing.
[[nodiscard]] std::optional<Proof> proof_of(RuleKind kind, Touch touch, Milestone milestone);

/// All that `touch` proves under a rule, for learning from it.
[[nodiscard]] std::vector<TouchRule> proofs_of(RuleKind kind, Touch touch);

/// Whether touches decide recoating under this kind of rule: those of firmness (open only, open–close) and of
/// tackiness.
[[nodiscard]] bool decided_by_touch(RuleKind kind);

/// Whether the word is a sanding trial.
[[nodiscard]] bool is_sanding_trial(Touch touch);

/// May this word be logged now? A sanding trial is refused before the slow clock has reached tack-free by the
/// record (where the sheet states none, before sandable): dust of half-cured material is what harms.
[[nodiscard]] quantity::Result<void> may_be_logged(Touch touch, const Outlook& outlook);

/// The caution that goes with every sanding trial and with sanding.
[[nodiscard]] std::string_view dust_caution();

}  // namespace setwell::core
