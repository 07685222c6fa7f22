#pragma once

#include <map>
#include <string>
#include <vector>

#include "tests/reference/prior_fit.hpp"
#include "tests/reference/stated_tables.hpp"

/// Judges priors on sheets they never saw.
namespace setwell::reference {

/// How stated times lay to their bounds.
struct Tally {
  int points = 0;
  int above = 0;        ///< later than the slow bound
  int below = 0;        ///< earlier than the fast one
  double ln_width = 0;  ///< summed

  void count(double ln_time, double ln_fast, double ln_slow);
  [[nodiscard]] double inside() const;  ///< share; 0 without points
  [[nodiscard]] double mean_ln_width() const;
  [[nodiscard]] double share(int count) const { return points > 0 ? static_cast<double>(count) / points : 0; }
};

struct TableScore {
  Tally all;       ///< every row but the shown one, foretold from the shown one
  Tally workshop;  ///< those of them between 8 and 38 °C
  Tally opens, closes;
  std::map<std::string, Tally> by_group;  ///< "opens colder" …
  std::map<std::string, Tally> by_sheet;
  Tally between;  ///< interior rows, foretold from all the others of their table
  Tally beyond;   ///< end rows of three or more, foretold from all the others of their table
};

/// Scores `tables` with the engine's own time model, each sheet by priors fitted to those of `fit_on` that
/// are no kin of it. Bounds at the priors' own two-sided 95 % level, from middle to middle (geometric means)
/// of the rows' ranges, without scatter and without tolerance.
[[nodiscard]] TableScore score_tables(const std::vector<StatedTable>& tables,
                                      const std::vector<StatedTable>& fit_on, const PriorForm& form = {});

/// What the aims name that was not reached, one line each: 0.95 inside at a mean width of 1.60 over all rows
/// and of 1.30 in the workshop's range, no group of ten or more under 0.88, at most 0.025 of the openings
/// above slow and of the closings below fast.
[[nodiscard]] std::vector<std::string> aims_missed(const TableScore& score);

}  // namespace setwell::reference
