#pragma once

#include <string_view>

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
  EnergyPrior colder;        ///< beyond the coldest row
  EnergyPrior warmer;        ///< beyond the warmest row
  double wander = 0;         ///< c, √(kJ/mol): how far a curve strays from a straight one
  double floor_upper_c = 0;  ///< the family's upper prior floor, °C
};

/// The priors for a family and a milestone. For pot life this is the film's prior, kept only so that a clock
/// can be made of any table; pot_life.hpp is what pot lives run on.
[[nodiscard]] Priors priors_for(Family family, Milestone milestone);

/// Where the figures of `priors_for` come from, one after another.
[[nodiscard]] std::string_view provenance_of_priors(Family family, Milestone milestone, bool colder);
[[nodiscard]] std::string_view provenance_of_floor(Family family);

/// Whether a milestone is one of hardness, whose times below the coldest row are fitted apart.
[[nodiscard]] bool is_hardness(Milestone milestone);

/// Where the chance of having been reached is 0.8: the quantile of Student's t with six degrees of freedom.
inline constexpr double kLikelyQuantile = 0.9057032851805387;

}  // namespace setwell::core
