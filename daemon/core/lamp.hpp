#pragma once

#include <optional>
#include <string>

#include "daemon/core/entry.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/time_model.hpp"

/// Light-cured films count the minutes they were under the lamp, not the hours since they were put on.
///
/// In the dark nothing happens, and warmth hardly matters: the sheet's times are minutes of its lamp, without
/// spread between temperatures, with the scatter between pieces taken k times. Light falls off with depth
/// (Lambert–Beer), so a thicker film asks for more of them; a thinner one is given no credit, since oxygen
/// keeps its surface soft.
namespace setwell::core {

/// Whether a sheet's time for this milestone is lamp time: openings and stages of a light-cured film. Its
/// flash-off, its closings and the pot life go by the clock on the wall like anybody's.
[[nodiscard]] bool counts_lamp(Family family, Milestone milestone);

/// Minutes under the lamp that one milestone takes, film and load aside. slow >= likely >= expected >= fast,
/// expected_upper >= expected.
struct LampMinutes {
  double slow = 0;
  double expected = 0;
  double fast = 0;
  double expected_upper = 0;  ///< the upper end of the sheet's own range
  double likely = 0;          ///< enough for four pieces in five
  friend bool operator==(const LampMinutes&, const LampMinutes&) = default;
};

/// From all rows together: the longest for the slow clock, the shortest for the fast one. `least` is what a
/// load asks for. Nothing where no row states a time.
[[nodiscard]] std::optional<LampMinutes> lamp_minutes(const TimeTable& table,
                                                      std::optional<quantity::Hours> least,
                                                      const Strictness& strictness);

/// "waits for the lamp: 2 of at least 4.5 min logged", for a clock that has not had enough.
[[nodiscard]] std::string waits_for_lamp(std::optional<quantity::Minutes> logged, double needed_min);

}  // namespace setwell::core
