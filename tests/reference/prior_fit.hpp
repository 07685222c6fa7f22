#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "daemon/core/priors.hpp"
#include "tests/reference/stated_tables.hpp"

/// Fits the priors of daemon/core/data/priors.inc to tables of published times.
///
/// Each table is taken as a sheet that shows only its row nearest 23 °C; how far the others are off in ln t,
/// over their distance x in 1/(RT), is what a prior has to foresee. For each kind of milestone and side the
/// energy E0 and the spread a are given a grid, a beforehand-probability on it (below), and Student's
/// likelihood with √((a·x)² + c²·|x|) as its scale, skewed towards the side that hurts. All sheets of a kin
/// together count as one row, since what they share is one thing learned. The prior is E0's mean, and for a
/// the root of a's mean square plus E0's variance: what a next sheet would be like, not only the middle.
namespace setwell::reference {

/// What is not fitted. The figures were chosen by leaving sheets out (daemon/core/data/tried.md).
struct PriorForm {
  double mean = 44;            ///< E0 beforehand, kJ/mol: the middle of published energies of 28 to 65
  double mean_range = 7;       ///< one standard deviation of that between kinds and sides, kJ/mol
  double spread = 8;           ///< a beforehand, kJ/mol
  double spread_range = 0.15;  ///< one standard deviation of ln a
  double wander = 1.6;         ///< c, √(kJ/mol)
  double skew = 1.25;          ///< openings: longer times; closings: shorter ones
  int freedom = 6;             ///< of Student's t: 4, 6, 10 or 30
  bool hardness_apart = true;  ///< whether hardness in the cold has a beforehand of its own
};

/// Where two-sided 95 % bounds lie, in scales, for the degrees of freedom a form may have.
[[nodiscard]] double two_sided_95(int freedom);

/// How much it is that a fit of one kind and side rests on.
struct FittedKind {
  core::PriorKind kind;
  core::PriorSide side;
  core::EnergyPrior prior;  ///< mean and spread to 0.1 kJ/mol
  int times = 0;
  int sheets = 0;
};

struct FittedPriors {
  std::vector<FittedKind> kinds;  ///< every kind and side, also those without a time: the beforehand then
  double bend = 0;                ///< to 0.05; the likeliest for interior rows left out
  int interior_rows = 0;
};

/// Deterministic; a second's fraction for some hundred rows.
[[nodiscard]] FittedPriors fit_priors(const std::vector<StatedTable>& tables, const PriorForm& form = {});

/// The fit as the engine takes it. Solvent lacquers, of which tables tell too little, get the mean of the
/// heats of evaporation of coating solvents and the spreads of the kind.
[[nodiscard]] core::PriorBook book_of(const FittedPriors& fitted);
inline constexpr double kEvaporationEnergy = 38.0;
/// Whether a solvent lacquer has a prior of its own for that.
[[nodiscard]] bool evaporates(core::PriorKind kind);

inline constexpr std::array kPriorKinds{core::PriorKind::opens, core::PriorKind::closes,
                                        core::PriorKind::drying, core::PriorKind::hardness,
                                        core::PriorKind::pot_life};
inline constexpr std::array kPriorSides{core::PriorSide::colder, core::PriorSide::warmer};
[[nodiscard]] std::string_view word(core::PriorKind kind);
[[nodiscard]] std::string_view word(core::PriorSide side);

}  // namespace setwell::reference
