#pragma once

#include <optional>

#include "sensors/quantity/instant.hpp"

namespace setwell::screen {

/// Since when a channel is silent, or nothing. `last_good` is the measured time of its newest reading that
/// counts (a retained or refused message, or one that waits to be judged, is no sign of life for a clock);
/// `watched_from` when it was first listened for, which stands in where there never was one. A channel is
/// silent from `silent_after` past that moment on: that moment is the answer once `now` has reached it.
[[nodiscard]] std::optional<quantity::Instant> silent_since(std::optional<quantity::Instant> last_good,
                                                            quantity::Instant watched_from,
                                                            quantity::Span silent_after,
                                                            quantity::Instant now);

/// When silence would begin if nothing came; the moment to look again.
[[nodiscard]] quantity::Instant silence_begins(std::optional<quantity::Instant> last_good,
                                               quantity::Instant watched_from, quantity::Span silent_after);

}  // namespace setwell::screen
