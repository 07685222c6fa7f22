#pragma once

#include <optional>
#include <span>
#include <vector>

#include "sensors/screen/series.hpp"

namespace setwell::screen {

/// What one decoded value is worth, derived from its neighbours in time and never stored as a truth: it may
/// change when another value arrives.
struct Verdict {
  std::optional<quantity::Refusal> refused;  ///< set: the value moves no clock
  quantity::Quality quality = quantity::Quality::good;
  /// A value that agrees with two good ones before it is judged at once; any other waits for three agreeing
  /// ones. Shown meanwhile, opening nothing.
  bool judged = false;

  friend bool operator==(const Verdict&, const Verdict&) = default;
};

/// Whether the value may open something: accepted, judged, and good or clamped.
[[nodiscard]] bool counts(const Verdict& verdict);

/// The verdicts on a channel's values, one for each, in the order given (which may be any: they are screened
/// in the order of `earlier`). Battery, running and door are screened for repeats and settling only.
/// `births`: when the sensor's live birth messages came.
[[nodiscard]] std::vector<Verdict> screen(const Rules& rules, std::span<const quantity::DecodedValue> values,
                                          std::span<const quantity::Instant> births = {});

/// How far a verdict can depend on other values: those within `time` of it, and `values` more in the order of
/// `earlier`; beyond that only through a footing (see footing.hpp), which the verdicts already given tell.
struct Reach {
  std::size_t values;
  quantity::Span time;
};
[[nodiscard]] Reach reach_of(const Rules& rules);

/// A value of a stretch of the series, and the verdict it had; none where it is new (or a birth came within
/// the settling time before it).
struct Standing {
  quantity::DecodedValue value;
  std::optional<Verdict> verdict;
};

struct Change {
  std::size_t position;  ///< in the stretch given
  Verdict verdict;
};

struct Rescreened {
  std::vector<Change> changes;  ///< the verdicts that are new or differ, in order of time
  /// Set where values further on are touched too, because the sensor's footing is another one now: the
  /// position in the stretch of the first one not screened. Store the changes, then call again with that
  /// value given without a verdict and two reaches around it.
  std::optional<std::size_t> carries_on;
};

/// Screens again what new values touch. `stretch` must be in the order of `earlier` and hold, besides the
/// values without a verdict, two reaches of values before the first and after the last of them (fewer only
/// where the series ends). The changes then are exactly those that `screen` of the whole series would bring,
/// so the order in which values arrive leaves no trace.
[[nodiscard]] Rescreened rescreen(const Rules& rules, std::span<const Standing> stretch,
                                  std::span<const quantity::Instant> births = {});

}  // namespace setwell::screen
