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

#include "daemon/core/data/floors.inc"
#include "daemon/core/data/priors.inc"

const FloorRow& floor_row(Family family) {
  for (const FloorRow& row : kFloorRows) {
    if (row.family == family) return row;
  }
  return kFloorRows[0];
}

}  // namespace

PriorKind prior_kind(Milestone milestone) {
  switch (milestone) {
    case Milestone::pot_life_over:
      return PriorKind::pot_life;
    case Milestone::flash_off_over:
    case Milestone::tack_free:
      return PriorKind::drying;
    case Milestone::recoat_opens:
    case Milestone::gap_ends:
      return PriorKind::opens;
    case Milestone::recoat_closes:
    case Milestone::gap_begins:
      return PriorKind::closes;
    case Milestone::sandable:
    case Milestone::handling:
    case Milestone::packing:
    case Milestone::full_cure:
    case Milestone::full_strength:
      break;
  }
  return PriorKind::hardness;
}

bool is_hardness(Milestone milestone) {
  return prior_kind(milestone) == PriorKind::hardness;
}

PriorBook::PriorBook(std::vector<PriorRow> rows, double bend) : rows_(std::move(rows)), bend_(bend) {
  assert(!rows_.empty());
}

const PriorRow& PriorBook::row(Family family, PriorKind kind, PriorSide side) const {
  for (const PriorRow& row : rows_) {
    const bool mine = !row.family || *row.family == family;
    if (mine && row.kind == kind && row.side == side) return row;
  }
  assert(false);
  return rows_.front();
}

const PriorBook& built_in_priors() {
  static const PriorBook kBook({std::begin(kPriorRows), std::end(kPriorRows)}, kBend);
  return kBook;
}

Priors priors_for(Family family, Milestone milestone, const PriorBook& book) {
  const PriorKind kind = prior_kind(milestone);
  return {book.row(family, kind, PriorSide::colder).prior, book.row(family, kind, PriorSide::warmer).prior,
          book.bend()};
}

double floor_upper_c(Family family) {
  return floor_row(family).upper_c;
}

std::string_view provenance_of_priors(Family family, Milestone milestone, bool colder) {
  return built_in_priors()
      .row(family, prior_kind(milestone), colder ? PriorSide::colder : PriorSide::warmer)
      .provenance;
}

std::string_view provenance_of_floor(Family family) {
  return floor_row(family).provenance;
}

}  // namespace setwell::core
