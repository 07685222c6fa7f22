#pragma once

#include <span>

#include "daemon/core/verdict.hpp"

/// The table of (rule, region, evidence) → verdict, as data: rows with wildcards, the first that fits
/// decides.
namespace setwell::core {

/// Everything a verdict depends on, boiled down to yes and no.
struct VerdictCase {
  RuleKind kind = RuleKind::open_only;
  Region region = Region::before_opening;
  bool silent = false;
  bool schedule_done = false;
  bool cured = false;
  bool outside_limit = false;
  bool reopened = false;   ///< sanded in time, and washed where the material asks for it
  bool opened = false;     ///< the touch proves the opening, and the rule lets touches open it
  bool held_back = false;  ///< the touch said "not yet" though the sure opening had come
  bool tested_lately = false;
  bool touch_opens = true;
};

/// A demand of a row: yes, no, or whatever.
enum class Want { whatever, yes, no };

struct VerdictRow {
  unsigned kinds = ~0u;    ///< bit n: the kind with number n
  unsigned regions = ~0u;  ///< likewise
  Want silent = Want::whatever;
  Want schedule_done = Want::whatever;
  Want cured = Want::whatever;
  Want outside_limit = Want::whatever;
  Want reopened = Want::whatever;
  Want opened = Want::whatever;
  Want held_back = Want::whatever;
  Want tested_lately = Want::whatever;
  Want touch_opens = Want::whatever;
  Verdict verdict = Verdict::wait;
};

/// The rows in the order they are tried; the last fits everything.
[[nodiscard]] std::span<const VerdictRow> verdict_rows();
[[nodiscard]] bool fits(const VerdictRow& row, const VerdictCase& which);
[[nodiscard]] VerdictCase case_of(RuleKind kind, Region region, const Evidence& evidence, bool touch_opens);

}  // namespace setwell::core
