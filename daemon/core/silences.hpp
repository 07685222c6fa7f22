#pragma once

#include <map>
#include <vector>

#include "daemon/core/coat_run.hpp"

/// What the silences of the air do to a coat: the record beside one in which they were no silences.
namespace setwell::core {

/// A stretch of a coat's life over which its air told nothing, readings on both sides.
struct SilentStretch {
  quantity::Instant from, until;
  friend bool operator==(const SilentStretch&, const SilentStretch&) = default;
};

/// The ended silences of the coat's air from its making to `now`, in order.
[[nodiscard]] std::vector<SilentStretch> silences_of(const CoatCase& coat, const AirOf& air,
                                                     quantity::Instant now);

/// The air of the coat's zones with each of those silences told as the middle of its envelope, at the error
/// of its edges: what would be known had the likeliest air been measured.
[[nodiscard]] std::map<quantity::ZoneId, AirHistory> bridged_air(const CoatCase& coat, const AirOf& air,
                                                                 quantity::Instant now);

}  // namespace setwell::core
