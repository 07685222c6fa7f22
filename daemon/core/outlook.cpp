#include "daemon/core/outlook.hpp"

#include <algorithm>

namespace setwell::core {

std::string_view word(Basis basis) {
  switch (basis) {
    case Basis::table:
      return "table";
    case Basis::one_temperature:
      return "one-temperature";
    case Basis::assumed:
      return "assumed";
    case Basis::learned:
      return "learned";
    case Basis::silence:
      return "silence";
    case Basis::touch:
      return "touch";
  }
  return "assumed";
}

std::string_view word(TroubleKind kind) {
  switch (kind) {
    case TroubleKind::under_floor:
      return "under-floor";
    case TroubleKind::dew_margin:
      return "dew-margin";
    case TroubleKind::too_damp:
      return "too-damp";
    case TroubleKind::silence:
      return "silence";
  }
  return "silence";
}

const ClockReading* Outlook::clock(Milestone milestone, int rule) const {
  const auto found = std::find_if(clocks.begin(), clocks.end(), [&](const ClockReading& reading) {
    return reading.milestone == milestone && reading.rule == rule;
  });
  return found == clocks.end() ? nullptr : &*found;
}

}  // namespace setwell::core
