#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/material.hpp"

/// What is known about a time's temperature dependence before a sheet has said anything. The figures live in
/// data/priors.inc, which a program writes (DEVELOPERS.md, "How to refit the priors"), and data/floors.inc;
/// each says where it comes from.
namespace setwell::core {

/// What a prior is for. Milestones of one kind follow temperature alike, as far as published tables show.
enum class PriorKind {
  opens,     ///< a recoat opens, a gap ends: wrong when told too early
  closes,    ///< a recoat closes, a gap begins: wrong when told too late
  drying,    ///< flash-off over, tack-free
  hardness,  ///< sandable, handling, packing, full cure, full strength
  pot_life,
};
/// Which way from the stated rows.
enum class PriorSide { colder, warmer };

/// How ln t runs beyond a row, x being the distance from it in 1/(RT): its median is E0·x, and it is off by
/// s = √((a·x)² + c²·|x|) times a variate of Student's t with six degrees of freedom, times the skew where
/// that makes it longer, divided by the skew where shorter.
struct EnergyPrior {
  double mean = 0;    ///< E0, kJ/mol
  double spread = 0;  ///< a, kJ/mol
  double wander = 0;  ///< c, √(kJ/mol), for a table of one row
  double skew = 1;
};

/// One line of a book of priors.
struct PriorRow {
  std::optional<Family> family;  ///< nothing: any
  PriorKind kind = PriorKind::drying;
  PriorSide side = PriorSide::colder;
  EnergyPrior prior;
  std::string_view provenance;
};

/// The priors that clocks are made with, as a value: the built-in ones of data/priors.inc, or others that
/// were fitted without a certain sheet, so that a simulated shop can run the engine on a sheet its priors
/// never saw.
class PriorBook {
 public:
  /// The first row that fits counts; every kind and side must have one for any family. `bend` is c of tables
  /// with two rows or more.
  PriorBook(std::vector<PriorRow> rows, double bend);

  [[nodiscard]] const PriorRow& row(Family family, PriorKind kind, PriorSide side) const;
  [[nodiscard]] double bend() const { return bend_; }
  [[nodiscard]] const std::vector<PriorRow>& rows() const { return rows_; }

 private:
  std::vector<PriorRow> rows_;
  double bend_;
};

/// Those of data/priors.inc. Immutable, any thread.
[[nodiscard]] const PriorBook& built_in_priors();

/// The priors of one kind of milestone.
struct Priors {
  EnergyPrior colder;  ///< beyond the coldest row
  EnergyPrior warmer;  ///< beyond the warmest row
  /// √(kJ/mol): how far neighbouring rows stray from a straight line; takes the place of `wander` where a
  /// table has two rows or more.
  double bend = 0;
};

/// The priors for a family and a milestone. For pot life they are those of pot lives as published, which
/// tables are judged by; pot_life.hpp, which knows about mass, is what pot lives run on.
[[nodiscard]] Priors priors_for(Family family, Milestone milestone,
                                const PriorBook& book = built_in_priors());

[[nodiscard]] PriorKind prior_kind(Milestone milestone);

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
