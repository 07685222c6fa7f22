#pragma once

#include "daemon/service/piece_view.hpp"

/// What belongs to the day as a whole: the list at waking, and the question at its end.
namespace setwell::service {

/// The morning list, from waking on for two hours, where somebody sleeps at all and something is to do within
/// a day.
[[nodiscard]] std::vector<core::NoticeFact> morning_facts(Workshop& workshop, quantity::Instant now);

/// The question about a newest coat whose sure window closed after waking hours had part of it, with nothing
/// entered since it opened: half an hour before the day's waking hours end. Nothing where there is none to
/// ask.
[[nodiscard]] std::optional<core::NoticeFact> unlogged_fact(const Workshop& workshop, const CoatView& view);

}  // namespace setwell::service
