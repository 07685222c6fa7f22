#pragma once

#include <optional>
#include <span>
#include <vector>

/// What one Arrhenius energy a table of stated times would have: for `sheet check` and for fitting priors.
/// Clocks never run on it; they run on the table itself.
namespace setwell::core {

/// A stated time at a temperature, 0 < low_h <= high_h.
struct TimeRange {
  double celsius = 0;
  double low_h = 0;
  double high_h = 0;
};

/// The energies and times of all straight lines (ln t over 1/T) that pass through every range.
struct FeasibleLines {
  double least_energy = 0, most_energy = 0;  ///< kJ/mol
  double least_time_h = 0, most_time_h = 0;  ///< at the reference temperature
};

struct EnergyFit {
  double energy = 0;  ///< kJ/mol, least squares of y = (ln low + ln high)/2 over 1/T, equal weights
  double time_at_reference_h = 0;        ///< of that line
  std::optional<double> standard_error;  ///< kJ/mol; R·√(SSR/(n-2)/Sxx), nothing for two points
  double largest_residual_ln = 0;
  /// Nothing when no straight line passes through all ranges: then only the table itself will do.
  std::optional<FeasibleLines> feasible;
  std::vector<double> secants;  ///< kJ/mol between neighbours, coldest first
};

/// For a fixed slope the ranges' intercepts must overlap pairwise (Helly in one dimension), so
/// E_min = R·max over x_i < x_j of (ln low_j - ln high_i)/(x_j - x_i) and E_max likewise with the ends
/// changed; a relative slack of 1e-9 lets two bare points agree. Nothing for fewer than two different
/// temperatures.
[[nodiscard]] std::optional<EnergyFit> fit_energy(std::span<const TimeRange> points, double reference_c);

}  // namespace setwell::core
