#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/core/posterior.hpp"
#include "daemon/core/touch_rules.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"

/// The shop's own factor: what the touch tests of earlier coats say of one milestone of one sheet, and what
/// may follow from it.
///
/// A milestone comes at M times the sheet's expected time. Each tested coat is one interval of M
/// (posterior.hpp); coats are taken in the order of their tests, and between them the factor may have
/// drifted: sd 0.05 per six months, and 0.05 per new lot. The scatter between pieces σ is learned along on a
/// grid about the workshop's setting. Gates: shown from 3 pieces; acting on the closing from 5; σ narrowed
/// from 20, until then only widened. What tests at one temperature say holds at another only as far as the
/// sheet's curve does, so the spread of that curve at the tests is part of what is told (`curve_ln`).
namespace setwell::core {

inline constexpr int kLearnedShownFrom = 3;
inline constexpr int kLearnedClosesFrom = 5;
inline constexpr int kLearnedNarrowsFrom = 20;
/// A test at an age that is not known to this much (half-width, ln) teaches nothing.
inline constexpr double kAgeKnownLn = 0.35;

/// One touch test, on the scale of one milestone.
struct TouchOnClock {
  Proof proof = Proof::not_yet;
  double ratio = 0;     ///< the coat's age in units of the sheet's expected time, > 0
  double doubt_ln = 0;  ///< half-width of ln ratio from entry time, sensor, lag and silences
  double curve_ln = 0;  ///< spread of the sheet's time at the temperatures the coat had, one sd
  friend bool operator==(const TouchOnClock&, const TouchOnClock&) = default;
};

/// All tests of one coat on that scale.
struct TestedCoat {
  quantity::EntryId piece;   ///< the piece's identity: coats of one piece count as one piece
  quantity::Instant tested;  ///< of the last test
  std::string lot;           ///< empty when not known
  std::vector<TouchOnClock> tests;
  friend bool operator==(const TestedCoat&, const TestedCoat&) = default;
};

/// What has been learned of one milestone, without any gate.
struct Lesson {
  int pieces = 0;
  int tests = 0;
  int sooner = 0;         ///< tests that found it reached before the sheet's expected time
  int later = 0;          ///< tests that found it not reached after that
  double mean_ln = 0;     ///< of ln M
  double spread_ln = 0;   ///< sd of the mean, drift since the last test included
  double scatter_ln = 0;  ///< σ: what the tests say, the setting where they say nothing
  double curve_ln = 0;
  friend bool operator==(const Lesson&, const Lesson&) = default;
};

/// The lesson for a coat made at `when` from `lot` (empty: not known), from coats tested before that.
/// `scatter` is the workshop's σ, > 0. The order of `coats` does not matter.
[[nodiscard]] Lesson learn(std::span<const TestedCoat> coats, double scatter, quantity::Instant when,
                           const std::string& lot);

/// What a lesson does to one clock. ln times are counted from the sheet's own.
struct LearnedShift {
  Milestone milestone = Milestone::tack_free;
  int rule = -1;
  double mean_ln = 0;     ///< added to the expected ln time
  double scatter_ln = 0;  ///< what takes the place of σ
  bool delays = false;    ///< may bring the slow clock later
  bool closes = false;    ///< may bring the fast clock earlier
  bool replaces = false;  ///< may bring the slow clock earlier, never before the sheet's own value
  friend bool operator==(const LearnedShift&, const LearnedShift&) = default;
};

/// How much a closing that no touch can tell follows the opening of its rule: their correlation at most.
inline constexpr double kOpeningTellsClosing = 0.7;

/// The shift of the very milestone that the lesson is about; nothing below the first gate. `scatter` as
/// above.
[[nodiscard]] std::optional<LearnedShift> shift_from(const Lesson& lesson, double scatter);
/// The shift of a closing from the lesson about its opening; nothing below the closing's gate.
[[nodiscard]] std::optional<LearnedShift> closing_shift_from(const Lesson& opening, double scatter);

/// `in 7 of 8 tests firmer than the sheet says; about 0.9 × its time; from 6 pieces`; below the first gate
/// how many pieces there are.
[[nodiscard]] std::string lesson_words(const Lesson& lesson, Milestone milestone);
/// What follows from it, by the gates: `may delay the opening`, …
[[nodiscard]] std::string lesson_acts(const Lesson& lesson);

}  // namespace setwell::core
