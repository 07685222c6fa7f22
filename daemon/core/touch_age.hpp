#pragma once

#include <functional>
#include <span>
#include <vector>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/learned.hpp"

/// How old a coat was, by its sheet's clocks, when a finger felt it: what learning compares.
///
/// The clocks run on the sheet's expected times alone, nothing learned, with one spread of the curve to
/// either side, and slowed 64 times so that they count on long past the sheet's time. Slow and fast then
/// differ by the doubt about entry time, sensor, lag, silences and film, and by twice the curve's spread,
/// which the likely track tells apart.
namespace setwell::core {

/// The clocks that ages are counted on.
[[nodiscard]] std::shared_ptr<const SheetClocks> age_clocks_of(const Material& material, Load load,
                                                               const PriorBook& book = built_in_priors());

/// The age on one clock's scale.
struct ClockAge {
  Milestone milestone = Milestone::tack_free;
  int rule = -1;
  double ratio = 0;     ///< in units of the sheet's expected time
  double doubt_ln = 0;  ///< half-width, infinite where the slow clock never ran
  double curve_ln = 0;
  friend bool operator==(const ClockAge&, const ClockAge&) = default;
};

/// The age of a coat at `at` on each of its sheet's clocks that can come, by what had been recorded by then.
/// `coat.clocks` must be age_clocks_of. Nothing later than `at` counts, so the answer is final unless a
/// reading or an entry from before it changes.
[[nodiscard]] std::vector<ClockAge> ages_at(const CoatCase& coat, const AirOf& air, quantity::Instant at);

/// A touch and the coat's ages at it.
struct AgedTouch {
  Touch touch = Touch::wet;
  quantity::Instant at;
  std::vector<ClockAge> ages;
};

/// What a coat's touches prove of one clock of its sheet, by the table of touch_rules.hpp; of an opening only
/// where the rule lets a touch open it.
[[nodiscard]] std::vector<TouchOnClock> tests_on(const Material& material, Milestone milestone, int rule,
                                                 std::span<const AgedTouch> touches);

/// The lesson about one clock of a sheet.
using LessonOf = std::function<Lesson(Milestone milestone, int rule)>;

/// All shifts of a sheet's clocks. A closing that touches tell of (while tacky) has its own lesson; another
/// follows its rule's opening, or tack-free where no touch tells of that.
[[nodiscard]] std::vector<LearnedShift> shifts_of(const Material& material, const LessonOf& lesson_of,
                                                  double scatter);

/// The clocks of a sheet that touches tell of.
struct TestedClock {
  Milestone milestone = Milestone::tack_free;
  int rule = -1;
};
[[nodiscard]] std::vector<TestedClock> tested_clocks(const Material& material);

/// The stated times behind a clock, nothing where the sheet has none.
[[nodiscard]] const TimeTable* table_behind(const Material& material, Milestone milestone, int rule);

}  // namespace setwell::core
