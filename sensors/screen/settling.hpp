#pragma once

#include <span>

#include "sensors/screen/series.hpp"

namespace setwell::screen {

/// Which values were measured within the settling time after a restart of their sensor: its uptime fell (or,
/// where it tells none, its sequence number did) against the value before, or its birth was heard.
/// `births` in any order: when a live (not retained) birth message came.
[[nodiscard]] Flags find_settling(const Rules& rules, Series series, const Flags& duplicate,
                                  std::span<const quantity::Instant> births);

}  // namespace setwell::screen
