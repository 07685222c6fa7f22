#pragma once

#include <optional>
#include <span>

#include "sensors/quantity/instant.hpp"

namespace setwell::screen {

/// A neighbour that moves this far, in K, shows that the air does move.
inline constexpr double kNeighbourMoves = 3.0;

/// A value and when it was measured.
struct Point {
  quantity::Instant at;
  double value;
};

/// Since when a channel has told one and the same value although it should not have, or nothing. `own`: its
/// accepted readings, in time order, at least `stuck_after` back from the newest; `neighbour`: a temperature
/// channel's, in time order, over the same time. The channel is suspect when its value has not changed for
/// `stuck_after` (to a millionth: sensors repeat their register bit by bit) while the neighbour moved by
/// `kNeighbourMoves` or more in that time. The answer is the first of the equal readings.
[[nodiscard]] std::optional<quantity::Instant> stuck_since(std::span<const Point> own,
                                                           std::span<const Point> neighbour,
                                                           quantity::Span stuck_after);

/// The first of the newest readings that are all equal: "last change"; nothing without readings.
[[nodiscard]] std::optional<quantity::Instant> unchanged_since(std::span<const Point> own);

}  // namespace setwell::screen
