#pragma once

#include <array>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/core/material.hpp"
#include "sensors/quantity/instant.hpp"

/// What the clocks of one coat say at one moment: the input of verdicts, windows and notices.
namespace setwell::core {

/// The three clocks. For progress: slow <= expected <= fast. For moments of reaching: fast first.
template <typename Value>
struct Bounded {
  Value slow{};
  Value expected{};
  Value fast{};
  friend bool operator==(const Bounded&, const Bounded&) = default;
};

/// What a figure rests on; several may apply. Words of `--json`: table, one-temperature, assumed, learned,
/// silence, touch.
enum class Basis { table, one_temperature, assumed, learned, silence, touch };
[[nodiscard]] std::string_view word(Basis basis);

/// One clock at one moment.
struct ClockReading {
  Milestone milestone = Milestone::tack_free;
  int rule = -1;             ///< index into Material::recoat for clocks of a recoat rule, -1 otherwise
  Bounded<double> progress;  ///< reached at 1
  /// When it was reached (past) or will be if the air goes as projected; nothing when not within reach.
  Bounded<std::optional<quantity::Instant>> at;
  /// Whether each bound has passed 1 by the record alone, not by projection.
  Bounded<bool> reached;
  std::set<Basis> basis;
  bool no_limit = false;  ///< the sheet says it never comes
  /// When the expected clock reaches the upper end of the sheet's own value: no touch test is proposed
  /// before.
  std::optional<quantity::Instant> expected_at_upper;
  /// When the chance of having been reached gets to 0.8, from the spread and the scatter.
  std::optional<quantity::Instant> likely_at;
  /// Why there is no time: `coat 2 was covered before its sure time` (piece_outlook.hpp), `not reached at
  /// this temperature`, `waits for the lamp: …`; empty as a rule.
  std::string not_known;
  friend bool operator==(const ClockReading&, const ClockReading&) = default;
};

/// A condition outside what the sheet advises or allows.
struct OutsideCondition {
  std::string what;  ///< `air below the limit`, …
  double value = 0;  ///< the worst so far, in °C, K or %
  double limit = 0;  ///< same unit
  std::string unit;  ///< `degC`, `K`, `%`
  quantity::Instant since;
  bool is_limit = false;  ///< false: only outside the advised range
  /// When it was last seen outside; nothing while it still is.
  std::optional<quantity::Instant> until;
  bool next_coat = false;  ///< about the present air and what is to go on next (unfit_air.hpp)
  friend bool operator==(const OutsideCondition&, const OutsideCondition&) = default;
};

/// What threatens a coat. Words of `--json`: under-floor, dew-margin, too-damp, silence.
enum class TroubleKind { under_floor, dew_margin, too_damp, silence };
[[nodiscard]] std::string_view word(TroubleKind kind);
struct Trouble {
  TroubleKind kind = TroubleKind::silence;
  std::optional<double> chance;  ///< nothing when it is a fact or no chance is known
  quantity::Instant at;
  friend bool operator==(const Trouble&, const Trouble&) = default;
};

/// Everything the clocks of one coat say at `now`.
struct Outlook {
  quantity::Instant now;
  std::vector<ClockReading> clocks;  ///< those the sheet states, in the order of Milestone, then of rules
  std::optional<quantity::Instant>
      silent_since;  ///< the last good reading plus its limit, when now is past it
  std::vector<OutsideCondition> outside;
  std::vector<Trouble> trouble;
  /// Surface temperature now, slow and fast bounds, °C; nothing without readings.
  std::optional<Bounded<double>> surface_c;
  std::optional<double> dew_margin_k;        ///< surface minus dew point, at the lower surface bound
  std::optional<double> dew_margin_error_k;  ///< its computed worst case

  /// Until tack-free: the blush dose of an amine epoxy (drying.hpp), how long moisture condensed on the coat,
  /// and how long its surface was under the cure floor.
  std::optional<double> blush_dose;
  quantity::Hours condensing{0};
  quantity::Hours under_floor{0};

  [[nodiscard]] const ClockReading* clock(Milestone milestone, int rule = -1) const;
  friend bool operator==(const Outlook&, const Outlook&) = default;
};

}  // namespace setwell::core
