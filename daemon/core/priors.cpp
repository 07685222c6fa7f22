#include "daemon/core/priors.hpp"

#include <optional>

namespace setwell::core {
namespace {

enum class Kind { film, hardness };
enum class Side { colder, warmer, both };
constexpr std::optional<Family> kAnyFamily = std::nullopt;

struct PriorRow {
  std::optional<Family> family;
  Kind kind;
  Side side;
  double mean;
  double spread;
  double wander;
  std::string_view provenance;
};

struct FloorRow {
  Family family;
  double upper_c;
  std::string_view provenance;
};

#include "daemon/core/data/priors.inc"

const PriorRow& row_for(Family family, Milestone milestone, Side side) {
  const Kind kind = is_hardness(milestone) ? Kind::hardness : Kind::film;
  for (const PriorRow& row : kPriorRows) {
    const bool mine = !row.family || *row.family == family;
    if (mine && row.kind == kind && (row.side == side || row.side == Side::both)) return row;
  }
  return kPriorRows[0];
}

const FloorRow& floor_row(Family family) {
  for (const FloorRow& row : kFloorRows) {
    if (row.family == family) return row;
  }
  return kFloorRows[0];
}

}  // namespace

bool is_hardness(Milestone milestone) {
  switch (milestone) {
    case Milestone::sandable:
    case Milestone::handling:
    case Milestone::packing:
    case Milestone::full_cure:
    case Milestone::full_strength:
      return true;
    default:
      return false;
  }
}

Priors priors_for(Family family, Milestone milestone) {
  const PriorRow& colder = row_for(family, milestone, Side::colder);
  const PriorRow& warmer = row_for(family, milestone, Side::warmer);
  return {
      {colder.mean, colder.spread}, {warmer.mean, warmer.spread}, warmer.wander, floor_row(family).upper_c};
}

std::string_view provenance_of_priors(Family family, Milestone milestone, bool colder) {
  return row_for(family, milestone, colder ? Side::colder : Side::warmer).provenance;
}

std::string_view provenance_of_floor(Family family) {
  return floor_row(family).provenance;
}

}  // namespace setwell::core
