#include "daemon/core/priors.hpp"

#include <cassert>
#include <iterator>
#include <utility>

namespace setwell::core {
namespace {

using Kind = PriorKind;
using Side = PriorSide;
constexpr std::optional<Family> kAnyFamily = std::nullopt;

struct FloorRow {
  Family family;
  double upper_c;
  std::string_view provenance;
};

#include "daemon/core/data/priors.inc"

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

PriorBook::PriorBook(std::vector<PriorRow> rows) : rows_(std::move(rows)) {
  assert(!rows_.empty());
}

const PriorRow& PriorBook::row(Family family, Milestone milestone, PriorSide side) const {
  const Kind kind = is_hardness(milestone) ? Kind::hardness : Kind::film;
  for (const PriorRow& row : rows_) {
    const bool mine = !row.family || *row.family == family;
    if (mine && row.kind == kind && (row.side == side || row.side == Side::both)) return row;
  }
  assert(false);
  return rows_.front();
}

const PriorBook& built_in_priors() {
  static const PriorBook kBook({std::begin(kPriorRows), std::end(kPriorRows)});
  return kBook;
}

Priors priors_for(Family family, Milestone milestone, const PriorBook& book) {
  const PriorRow& colder = book.row(family, milestone, Side::colder);
  const PriorRow& warmer = book.row(family, milestone, Side::warmer);
  return {{colder.mean, colder.spread}, {warmer.mean, warmer.spread}, warmer.wander};
}

double floor_upper_c(Family family) {
  return floor_row(family).upper_c;
}

std::string_view provenance_of_priors(Family family, Milestone milestone, bool colder) {
  return built_in_priors().row(family, milestone, colder ? Side::colder : Side::warmer).provenance;
}

std::string_view provenance_of_floor(Family family) {
  return floor_row(family).provenance;
}

}  // namespace setwell::core
