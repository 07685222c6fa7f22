#pragma once

#include "daemon/core/material.hpp"

#include <optional>
#include <vector>

/// How long a milestone takes at a temperature, with what is not known about it.
///
/// Terms: x = 1/(RT) in mol/kJ; E an apparent activation energy in kJ/mol; t in hours; the *spread* s is a
/// standard deviation of ln t. Stated rows are reproduced exactly. Between two rows ln t follows the chord in
/// 1/T and s² = c²·f(1−f)·Δx, f being the fraction of the way. Beyond the last row, or with one row only, ln t
/// starts from the nearest row with a mean slope E0 (with two or more rows a precision-weighted mean of E0 and
/// the end chord) and s² = (a·x)² + c²·|x|, x counted from the row. Random spreads s and the scatter between
/// pieces σ are joined in quadrature and taken k times.
namespace setwell::core {

/// The measured priors of one kind of milestone; see data/priors.inc for where they come from.
struct Priors {
  double mean_energy;      ///< E0, kJ/mol
  double energy_spread;    ///< a, kJ/mol
  double wander;           ///< c, in √(kJ/mol)
  double floor_upper_c;    ///< the family's upper prior floor, °C
};

/// The priors for a family and a milestone; `colder` where hardness colder than stated is fitted apart.
[[nodiscard]] Priors priors_for(Family family, Milestone milestone);

/// How strict the bounds are.
struct Strictness {
  double k = 3.1;        ///< standard deviations
  double scatter = 0.10;  ///< σ, scatter between pieces, in ln time
};

/// ln of the time in hours at one temperature.
struct LnTime {
  double low = 0;       ///< from the lower ends of the sheet's ranges
  double expected = 0;  ///< from their geometric means
  double high = 0;      ///< from the upper ends
  double spread = 0;    ///< s, one standard deviation; 0 on a stated row
};

/// The time of one milestone as a function of temperature. A value; copying is cheap enough to pass around.
class TimeModel {
 public:
  /// `table` must have at least one row; rows `no_limit` throughout make `never()` true.
  TimeModel(const TimeTable& table, Family family, Milestone milestone);

  /// Exact by the formulas above, any temperature a Celsius can hold.
  [[nodiscard]] LnTime at(double celsius) const;
  [[nodiscard]] bool never() const { return never_; }
  [[nodiscard]] bool one_temperature() const { return rows_.size() == 1; }
  [[nodiscard]] double coldest_row_c() const;
  [[nodiscard]] double warmest_row_c() const;

 private:
  struct KnownRow {
    double celsius;
    double x;  ///< 1/(RT), mol/kJ
    double low, expected, high;
  };
  std::vector<KnownRow> rows_;
  Priors priors_;
  bool never_ = false;
};

/// Where the slow and the expected clock stand still.
struct CureFloor {
  std::optional<double> slow_c;      ///< the slow clock stands still below this
  std::optional<double> expected_c;  ///< only below a stated floor
  bool assumed = false;              ///< from the family's prior, not from the sheet
};

/// The floor for one milestone: the sheet's own, else the family's upper prior floor but below the coldest row
/// the sheet states for that milestone. `stated` is Material::cure_floor.
[[nodiscard]] CureFloor floor_for(std::optional<quantity::Celsius> stated, const TimeModel& model, Family family);

/// The three rates of one clock, 1/hours, tabulated so that a reading costs a look-up.
///
/// slow <= expected <= fast everywhere, and each never falls when it gets warmer: a bound at a colder
/// temperature bounds a warmer one too, so the slow time is the running least from the cold side and the fast
/// time the running greatest from the warm side. Below the floor slow is 0; above the warmest row slow runs at
/// that row's rate. Node spacing 0.05 K plus every stated row and the floor; linear between nodes, which is
/// within 3e-6 of the formula.
class ClockRates {
 public:
  ClockRates(const TimeModel& model, const CureFloor& floor, Strictness strictness);

  [[nodiscard]] double slow(double celsius) const;
  [[nodiscard]] double expected(double celsius) const;
  [[nodiscard]] double fast(double celsius) const;
  /// The rate of the sheet's own upper value without spread: what `expected_at_upper` runs on.
  [[nodiscard]] double expected_upper(double celsius) const;
  /// The rate at which the chance of having got there reaches 0.8 (Student t, ν = 6, of s and σ): what
  /// `likely_at` runs on.
  [[nodiscard]] double likely(double celsius) const;
  [[nodiscard]] const CureFloor& floor() const { return floor_; }

 private:
  struct Node {
    double slow, expected, fast, expected_upper, likely;
  };
  [[nodiscard]] double look_up(double celsius, double Node::*member) const;
  std::vector<Node> nodes_;
  CureFloor floor_;
};

}  // namespace setwell::core
