#pragma once

#include "daemon/service/piece_view.hpp"

/// Windows against the hours in which somebody is there: nothing is told that would need heat or a rotator to
/// run while nobody is.
namespace setwell::service {

/// When the last start of a window is told, and what it is.
struct LastStart {
  quantity::Instant tell;
  quantity::Instant last;  ///< start mixing by; telling later helps nobody
  /// No part of the window lies in waking hours: told the evening before, with the choices.
  bool asleep = false;
};

/// The last start of a sure window with both ends, `last` being the one that the closing alone would leave.
/// Half an hour ahead; at half time of windows under two hours; in the evening where it lies outside waking
/// hours, and on a rotator early enough that the coat is tack-free before the maker sleeps. Nothing where no
/// attended start is left, or where the window would open on heat that runs while nobody is there.
[[nodiscard]] std::optional<LastStart> last_start_of(const Workshop& workshop, const CoatView& view,
                                                     const core::Window& window, quantity::Instant last);

/// How long a coat of what goes on next needs a rotator, by its sheet's longest tack-free time at the
/// reference; zero where the zone has none.
[[nodiscard]] quantity::Span on_rotator(const Workshop& workshop, const CoatView& view,
                                        quantity::Instant now);

/// Whether the zone is heated and nobody is awake at some time before `at`.
[[nodiscard]] bool unattended_heat(const Workshop& workshop, const quantity::ZoneId& zone,
                                   quantity::Instant now, quantity::Instant at);

}  // namespace setwell::service
