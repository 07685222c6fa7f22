#pragma once

#include "daemon/core/verdict.hpp"

/// Which clocks decide under a recoat rule, shared by verdicts, windows and evidence.
namespace setwell::core {

/// The rule at that index of the sheet, nothing for an index outside it.
[[nodiscard]] const RecoatRule* rule_at(const Material& material, int rule);

/// The clock that opens a rule's first window. `at_once`: there is nothing to wait for, neither an opening
/// nor a flash-off is stated. Without `at_once` a missing clock never opens.
struct Opening {
  bool at_once = false;
  const ClockReading* clock = nullptr;
};
[[nodiscard]] Opening opening_of(const Material& material, int rule, const Outlook& outlook);

/// The clock whose fast bound ends the (last) window: the stated closing, or under a while-tacky rule without
/// one tack-free itself. Nothing where the window has no end.
[[nodiscard]] const ClockReading* closing_of(const Material& material, int rule, const Outlook& outlook);

/// The clock that says when it can be sanded: sandable, and on a sheet that does not state it full cure.
[[nodiscard]] const ClockReading* sanding_of(const Outlook& outlook);

/// From when a touch test tells something of this clock: the chance is 0.8 and the expected clock has reached
/// the upper end of the sheet's value. Nothing where either is out of reach.
[[nodiscard]] std::optional<quantity::Instant> test_from_of(const ClockReading& clock);

[[nodiscard]] bool surely_reached(const ClockReading* clock);    ///< by the slow clock and the record
[[nodiscard]] bool possibly_reached(const ClockReading* clock);  ///< by the fast clock

}  // namespace setwell::core
