#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/core/priors.hpp"

/// How long a milestone takes at a temperature, with what is not known about it.
///
/// Terms: x = 1/(RT) in mol/kJ; E an apparent activation energy in kJ/mol; t in hours; the *spread* s is a
/// standard deviation of ln t. Stated rows are reproduced exactly. Between two rows ln t follows the chord in
/// 1/T and s² = b²·f(1−f)·Δx, f being the fraction of the way. Beyond the last row, or with one row only, ln
/// t starts from the nearest row with a median slope E0 (with two or more rows a precision-weighted mean of
/// E0 and the end chord) and s² = (a·x)² + c²·|x|, x counted from the row, with b in place of c where there
/// are two rows or more. Beyond rows the spread towards longer times is s times the kind's skew, towards
/// shorter ones s divided by it. E0, a, b, c and the skew are priors (priors.hpp). Random spreads and the
/// scatter between pieces σ are joined in quadrature and taken k times.
namespace setwell::core {

/// How strict the bounds are.
struct Strictness {
  double k = 3.1;         ///< standard deviations
  double scatter = 0.10;  ///< σ, scatter between pieces, in ln time
};

/// ln of the time in hours at one temperature.
struct LnTime {
  double low = 0;       ///< from the lower ends of the sheet's ranges
  double expected = 0;  ///< from their geometric means
  double high = 0;      ///< from the upper ends
  double spread = 0;    ///< s, one standard deviation; 0 on a stated row
  double skew = 1;      ///< how much further it strays to longer times than to shorter ones, as a root

  [[nodiscard]] double slow_spread() const { return spread * skew; }  ///< towards longer times
  [[nodiscard]] double fast_spread() const { return spread / skew; }  ///< towards shorter ones
};

/// The time of one milestone as a function of temperature. A value; copying is cheap enough to pass around.
class TimeModel {
 public:
  /// `table` must have at least one row; rows `no_limit` throughout make `never()` true. Among others a
  /// `no_limit` row is left out: the rows with a time then hold beyond themselves, which closes early rather
  /// than late.
  TimeModel(const TimeTable& table, Family family, Milestone milestone,
            const PriorBook& book = built_in_priors());

  /// Exact by the formulas above, any temperature a Celsius can hold. Not to be asked when `never()`.
  [[nodiscard]] LnTime at(double celsius) const;
  [[nodiscard]] bool never() const { return never_; }
  [[nodiscard]] bool one_temperature() const { return rows_.size() == 1; }
  [[nodiscard]] double coldest_row_c() const { return rows_.front().celsius; }
  [[nodiscard]] double warmest_row_c() const { return rows_.back().celsius; }
  /// The temperatures of the rows, rising: where rates have kinks.
  [[nodiscard]] std::vector<double> row_temperatures() const;
  /// Whether no row, in its lower and upper end, is faster than a warmer one: what a cure does. The sheet is
  /// still taken at its word where it is not so, with wider bounds.
  [[nodiscard]] bool low_ends_fall() const;
  [[nodiscard]] bool high_ends_fall() const;

 private:
  struct KnownRow {
    double celsius;
    double x;  ///< 1/(RT), mol/kJ
    double low, expected, high;
  };
  [[nodiscard]] LnTime between(const KnownRow& cold, const KnownRow& warm, double x) const;
  [[nodiscard]] LnTime beyond(const KnownRow& row, const KnownRow* neighbour, const EnergyPrior& prior,
                              double x) const;

  std::vector<KnownRow> rows_;  ///< rising temperature, falling x
  Priors priors_{};
  bool never_ = false;
};

struct LearnedShift;  // learned.hpp

/// Where the slow and the expected clock stand still.
struct CureFloor {
  std::optional<double> slow_c;      ///< the slow clock stands still below this
  std::optional<double> expected_c;  ///< only below a stated floor
  bool assumed = false;              ///< from the family's prior, not from the sheet
};

/// The floor for one milestone: the sheet's own, else the family's upper prior floor but below the coldest
/// row the sheet states for that milestone (0.01 K below, so that the row itself still counts). `stated` is
/// Material::cure_floor. For a model that is `never()`: the sheet's own or none.
[[nodiscard]] CureFloor floor_for(std::optional<quantity::Celsius> stated, const TimeModel& model,
                                  Family family);

/// The last quarter of full cure counts for the slow clock only while it is at least this warm: the floor,
/// but no more than 5 K below the coldest row the sheet states for full cure. A film that hardens colder than
/// that stiffens before it has reacted (vitrification). `model` is that of full cure.
[[nodiscard]] double full_cure_least_c(const TimeModel& model, const CureFloor& floor);
inline constexpr double kFullCureQualifiedFrom = 0.75;

/// The three rates of one clock, 1/hours, tabulated so that a reading costs a look-up.
///
/// slow <= likely <= expected <= fast and expected_upper <= expected everywhere, and each never falls when it
/// gets warmer: a bound at a colder temperature bounds a warmer one too, so the slow time is the running
/// least from the cold side and the fast time the running greatest from the warm side. (Where a sheet's rows
/// contradict that, the running bounds are taken the other way, which only widens them.) Below the floor slow
/// is 0; above the warmest row slow runs at that row's rate. Node spacing 0.05 K plus every stated row and
/// the floor; linear between nodes, which is within 2e-5 of the formula for a scatter of 0.05 or more. Beyond
/// -60 and 120 °C the last node holds. The nodes of a workshop's usual temperatures are kept; the others are
/// worked out when somebody first asks, with the same bits. Immutable, any thread.
///
/// With what was learned (μ, σ_L), expected and likely move by μ, and at the same k: the slow ln time is at
/// least expected + μ + k·√(s² + σ_L²), where the lesson may replace it exactly that, but never less than the
/// sheet's own upper value (with the curve's spread where no row stands); the fast ln time is at most
/// expected
/// + μ - k·√(s² + σ_L²). So learning closes earlier only, and opens before the unlearned clock only once it
/// may replace it, and never before the sheet.
class ClockRates {
  struct Node;

 public:
  ClockRates(const TimeModel& model, const CureFloor& floor, Strictness strictness,
             const LearnedShift* learned = nullptr);

  [[nodiscard]] double slow(double celsius) const;
  [[nodiscard]] double expected(double celsius) const;
  [[nodiscard]] double fast(double celsius) const;
  /// The rate of the sheet's own upper value without spread: what `expected_at_upper` runs on.
  [[nodiscard]] double expected_upper(double celsius) const;
  /// The rate at which the chance of having got there reaches 0.8 (Student t, ν = 6, of s and σ): ln t is the
  /// expected one plus 0.906·√(s² + σ²), s being the spread towards longer times. What `likely_at` runs on.
  [[nodiscard]] double likely(double celsius) const;
  /// Where a temperature lies in the table: found once for all rates at it.
  class Spot {
    friend class ClockRates;
    double celsius_;
    const Node* colder_;
    const Node* warmer_;
    double f_;
  };
  /// Not to be asked when `never()`. Good as long as these rates are.
  [[nodiscard]] Spot spot(double celsius) const;
  [[nodiscard]] double slow(const Spot& at) const {
    return stands_still(at.celsius_, floor_.slow_c) ? 0.0 : between(at, &Node::slow);
  }
  [[nodiscard]] double expected(const Spot& at) const {
    return stands_still(at.celsius_, floor_.expected_c) ? 0.0 : between(at, &Node::expected);
  }
  [[nodiscard]] double fast(const Spot& at) const { return between(at, &Node::fast); }
  [[nodiscard]] double expected_upper(const Spot& at) const {
    return stands_still(at.celsius_, floor_.expected_c) ? 0.0 : between(at, &Node::expected_upper);
  }
  [[nodiscard]] double likely(const Spot& at) const {
    return stands_still(at.celsius_, floor_.expected_c) ? 0.0 : between(at, &Node::likely);
  }
  /// Whether the clock never arrives (a closing without limit): all rates are 0.
  [[nodiscard]] bool never() const { return usual_.nodes.empty(); }
  [[nodiscard]] const CureFloor& floor() const { return floor_; }
  /// Where the rates have kinks or jumps, rising: split quadratures there.
  [[nodiscard]] const std::vector<double>& kinks() const { return kinks_; }

 private:
  struct Node {
    double celsius;
    double slow, expected, fast, expected_upper, likely;
  };
  /// Nodes from the start of one cell to the start of another, and where each cell begins among them.
  struct Table {
    std::vector<Node> nodes;
    int first_cell = 0;
    double from_c = 0, to_c = 0;               ///< of the first and the last node
    std::vector<std::uint16_t> first_in_cell;  ///< the last node at or below each cell's lower end
  };
  class Maker;
  class Beyond;
  [[nodiscard]] static double between(const Spot& at, double Node::*member) {
    const double colder = at.colder_->*member;
    return colder + (at.warmer_->*member - colder) * at.f_;
  }
  [[nodiscard]] bool stands_still(double celsius, const std::optional<double>& floor) const {
    return floor && celsius < *floor;
  }

  Table usual_;
  std::shared_ptr<const Beyond> beyond_;
  std::vector<double> kinks_;
  CureFloor floor_;
};

}  // namespace setwell::core
