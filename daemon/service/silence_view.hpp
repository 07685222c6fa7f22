#pragma once

#include "daemon/service/piece_view.hpp"

namespace setwell::service {

/// The silences of a coat's air and how much narrower they make its first window that is not over: the window
/// beside the one the likeliest air would have given. Nothing where there was no silence. Worked out at most
/// four times an hour for a coat; costs a run of its clocks.
[[nodiscard]] std::optional<api::SilencesNow> silences_now(Workshop& workshop, const CoatView& view,
                                                           quantity::Instant now);

}  // namespace setwell::service
