#pragma once

#include <optional>
#include <span>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"

/// What the clocks of all coats of a piece say together.
namespace setwell::core {

/// One coat of the piece, as it stands.
struct CoatOutlook {
  int number = 0;
  const Material* material = nullptr;        ///< never null
  std::optional<quantity::Instant> covered;  ///< when the next coat went on it
  Outlook outlook;
  /// The rule the covering coat fell under, an index into material->recoat; -1 where that is not known, and
  /// then it must have been open under every rule the sheet states.
  int rule = -1;
};

/// Whether the coat was surely open when it was covered: past the slow opening and not inside a gap. True for
/// one that is not covered, or whose sheet states no rule.
[[nodiscard]] bool covered_in_sure_time(const CoatOutlook& coat);

/// Handling, packing and full cure of the piece, those that any coat's sheet states, in that order: the
/// latest over its coats. A coat covered in its sure time counts as there from then on. One covered before it
/// leaves the slow and the expected clock without a time, and says so in `not_known` ("coat 2 was covered
/// before its sure time"), until its own slow clock gets there. Progress is that of the coat that is furthest
/// behind.
[[nodiscard]] std::vector<ClockReading> piece_milestones(std::span<const CoatOutlook> coats);

}  // namespace setwell::core
