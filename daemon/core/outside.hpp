#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/air_history.hpp"
#include "daemon/core/entry.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"
#include "sensors/air/psychrometrics.hpp"

/// What a sheet asks of the air while a coat is put on and while it cures, and how the record kept to it.
namespace setwell::core {

/// What a condition is about. "least" ones are broken from below, "most" ones from above.
enum class ConditionKind { air_least, air_most, humidity_least, humidity_most, dew_margin, apply_least };

/// What ends the phase in which a bound holds.
enum class PhaseEnd { at_a_time, tack_free, flash_off };

/// One bound that the sheet states (or the trade's dew margin where it states none: 3 K, and more while the
/// film flashes off), with its phase.
struct ConditionRule {
  ConditionKind kind = ConditionKind::air_least;
  double bound = 0;  ///< °C, % or K
  bool is_limit = false;
  quantity::Instant from, to;  ///< the phase; `to` counts only where it ends at a time
  PhaseEnd ends = PhaseEnd::at_a_time;
};

/// All bounds of a coat made between `first` and `last`.
[[nodiscard]] std::vector<ConditionRule> conditions_of(const Material& material, quantity::Instant first,
                                                       quantity::Instant last);

/// The air about a surface at one moment, as far as it was trusted.
struct Moment {
  quantity::Instant at;
  std::optional<double> air_c, humidity_percent;
  std::optional<air::DewMargin> dew;  ///< nothing without humidity
};

/// How a condition stands at a moment: the value and whether it is outside. Nothing when the record does not
/// tell. A dew margin keeps to a limit only if it does so less its computed error.
struct ConditionStanding {
  double value = 0;  ///< a dew margin against a limit: less its error, as it is judged
  bool outside = false;
};
[[nodiscard]] std::optional<ConditionStanding> standing_of(const ConditionRule& rule, const Moment& moment);
/// Whether `a` is further outside than `b`.
[[nodiscard]] bool worse(const ConditionRule& rule, double a, double b);

/// In words, for `outside_limits`.
[[nodiscard]] OutsideCondition told(const ConditionRule& rule, double worst, quantity::Instant since);

}  // namespace setwell::core
