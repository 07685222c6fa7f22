#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/review_findings.hpp"
#include "sensors/quantity/error.hpp"

/// Looking back over a coat that went wrong: facts, then causes with what speaks for and against each.
///
/// Every cause starts with the weight of its signs and is multiplied by a factor for each finding (all in
/// data/causes.inc, with reasons), as if findings were independent given the cause. They are not, so the odds
/// are an order, no probability, and only levels are told: causes within a factor of kLevel of the first
/// stand on its level. One is settled only when it stands alone on the first level and something recorded
/// speaks for it by itself: being left over is no evidence. Pure.
namespace setwell::core {

/// One line of the table of factors.
struct CauseRatio {
  Cause cause = Cause::cold_cure;
  Finding finding = Finding::cold;
  double if_so = 1;
  double if_not = 1;
  std::string_view reason;
};
/// The table as it ships.
[[nodiscard]] std::span<const CauseRatio> cause_ratios();

inline constexpr double kLevel = 3.5;
/// What speaks for a settled cause must multiply its odds by this, all together.
inline constexpr double kDeciding = 3.0;

struct CauseFound {
  Cause cause = Cause::cold_cure;
  int level = 1;    ///< equal level = cannot be told apart
  double odds = 0;  ///< share of all causes considered, 0 … 1; an order, no probability
  std::vector<std::string> speaks_for, against, missing;
  std::vector<std::string_view> remedies;  ///< in order
};

enum class Weather { cleared, suspect, unknown };
[[nodiscard]] std::string_view word(Weather weather);

struct Review {
  Facts facts;
  Findings findings;
  std::vector<CauseFound> causes;  ///< likeliest first; at most eight, all of the first level
  bool settled = false;
  Weather weather = Weather::unknown;
  std::string summary;    ///< what can be said, in a sentence or two
  std::string next_test;  ///< the one trial that would tell the first causes apart; empty when none would
};

/// `subject` must point into the case's workbook. Without `signs` those logged on the coat are taken; with
/// none at all no cause is named. `ratios` is for tests of the table.
[[nodiscard]] Review review(const CaseFile& file, const Subject& subject, std::vector<Sign> signs,
                            std::span<const CauseRatio> ratios = cause_ratios());

}  // namespace setwell::core
