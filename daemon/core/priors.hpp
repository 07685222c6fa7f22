#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/material.hpp"

/// What is known about a time's temperature dependence before a sheet has said anything. The figures live in
/// data/priors.inc, each with where it comes from.
namespace setwell::core {

/// An apparent activation energy, kJ/mol.
struct EnergyPrior {
  double mean = 0;    ///< E0
  double spread = 0;  ///< a, one standard deviation
};

/// The priors of one kind of milestone.
struct Priors {
  EnergyPrior colder;  ///< beyond the coldest row
  EnergyPrior warmer;  ///< beyond the warmest row
  double wander = 0;   ///< c, √(kJ/mol): how far a curve strays from a straight one
};

/// What a prior is for: films that dry, hardness.
enum class PriorKind { film, hardness };
/// Which way from the stated rows.
enum class PriorSide { colder, warmer, both };

/// One line of a book of priors.
struct PriorRow {
  std::optional<Family> family;  ///< nothing: any
  PriorKind kind = PriorKind::film;
  PriorSide side = PriorSide::both;
  double mean = 0;    ///< E0, kJ/mol
  double spread = 0;  ///< a, kJ/mol
  double wander = 0;  ///< c, √(kJ/mol)
  std::string_view provenance;
};

/// The priors that clocks are made with, as a value: the built-in ones of data/priors.inc, or others that
/// were fitted without a certain sheet, so that a simulated shop can run the engine on a sheet its priors
/// never saw.
class PriorBook {
 public:
  /// The first row that fits counts; every kind and side must have one for any family.
  explicit PriorBook(std::vector<PriorRow> rows);

  /// The row for a family, a milestone and a side (colder or warmer).
  [[nodiscard]] const PriorRow& row(Family family, Milestone milestone, PriorSide side) const;

 private:
  std::vector<PriorRow> rows_;
};

/// Those of data/priors.inc. Immutable, any thread.
[[nodiscard]] const PriorBook& built_in_priors();

/// The priors for a family and a milestone. For pot life this is the film's prior, kept only so that a clock
/// can be made of any table; pot_life.hpp is what pot lives run on.
[[nodiscard]] Priors priors_for(Family family, Milestone milestone,
                                const PriorBook& book = built_in_priors());

/// The family's upper prior floor, °C.
[[nodiscard]] double floor_upper_c(Family family);

/// Where the built-in figures of `priors_for` come from, one after another.
[[nodiscard]] std::string_view provenance_of_priors(Family family, Milestone milestone, bool colder);
[[nodiscard]] std::string_view provenance_of_floor(Family family);

/// Whether a milestone is one of hardness, whose times below the coldest row are fitted apart.
[[nodiscard]] bool is_hardness(Milestone milestone);

/// Where the chance of having been reached is 0.8: the quantile of Student's t with six degrees of freedom.
inline constexpr double kLikelyQuantile = 0.9057032851805387;

}  // namespace setwell::core
