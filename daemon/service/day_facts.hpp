#pragma once

#include "daemon/service/workshop.hpp"

/// What belongs to the day as a whole: the list at waking, and the question at its end.
namespace setwell::service {

/// The morning list, from waking on for two hours, where somebody sleeps at all and something is to do within
/// a day.
[[nodiscard]] std::vector<core::NoticeFact> morning_facts(Workshop& workshop, quantity::Instant now);

/// For each newest coat whose sure window closed in waking hours with nothing entered since it opened: the
/// question, half an hour before the day's waking hours end.
[[nodiscard]] std::vector<core::NoticeFact> unlogged_facts(Workshop& workshop, quantity::Instant now);

}  // namespace setwell::service
