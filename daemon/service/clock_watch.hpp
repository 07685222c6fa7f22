#pragma once

#include <string>

#include "daemon/service/workshop.hpp"

/// What a live workshop makes of a machine's clock that is wrong. Thread: loop only.
namespace setwell::service {

/// Whether the clock was never set: it tells a time before any record of a workshop. Never so in rehearsal.
[[nodiscard]] bool clock_unset(const Workshop& workshop, quantity::Instant now);

/// A sentence for whoever wants to log something while the clock is unset.
[[nodiscard]] std::string clock_unset_words(const Workshop& workshop, quantity::Instant now);

/// When the clock stands before messages that it has stamped itself, it was ahead: nobody knows when the
/// readings after `now` were. They are deleted, and coats are run again without them. A step of less than two
/// minutes is let pass. Not to be called inside a transaction.
void settle_clock(Workshop& workshop, quantity::Instant now);

}  // namespace setwell::service
