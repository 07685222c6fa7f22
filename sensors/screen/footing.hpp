#pragma once

#include <span>
#include <vector>

#include "sensors/screen/agreement.hpp"
#include "sensors/screen/series.hpp"

namespace setwell::screen {

/// What a sensor seems to speak: what the settings say, the other temperature unit, or a hundredth or a
/// hundredfold of the humidity. A sensor that switches (a button, an update) keeps its other footing, and its
/// values stay refused, until it switches back or the settings follow: nothing within a bounded time tells 70
/// °C from 70 °F. So a footing carries on from value to value; everything else in the screening looks a
/// bounded way.
enum class Footing { as_told, other_unit, other_scale };

/// The value as it would be on that footing.
[[nodiscard]] double on_footing(const quantity::DecodedValue& value, Footing footing);

/// Finds the footing of `footings[first]` and all after it, those before it being known. A value begins
/// another footing where three in a row continue the level before them there (at least two values that agree)
/// and nowhere on the footing so far. Values not `eligible` carry the footing on. The first value of a series
/// without known ones before it stands as told.
void find_footings(const Agreement& agreement, quantity::MeasuredQuantity quantity, Series series,
                   const Flags& eligible, std::size_t first, std::vector<Footing>& footings);

}  // namespace setwell::screen
