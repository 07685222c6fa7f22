#pragma once

#include <vector>

#include "daemon/core/air_history.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"
#include "daemon/core/show.hpp"

/// Whether a coat may be put on in the air there is now.
namespace setwell::core {

/// The limits of `top`, of application and of the cure that would begin, which the air breaks at `now`: each
/// with its value now, the limit, and since when it has been so by the readings from `from` on (a silence
/// ends the looking back). Where application and cure limit the same, the stricter one. A dew margin is that
/// of the piece's surface (`piece`, which also tells its error) as long as its clocks know it, else of a
/// surface at the air's temperature. Nothing where the air is not known: a silence forbids nothing, and
/// allows nothing either, that a clock has not.
[[nodiscard]] std::vector<OutsideCondition> unfit_air(const Material& top, const AirHistory& air,
                                                      const Outlook& piece, quantity::Instant from,
                                                      quantity::Instant now);

/// `air below the limit for the next coat: 13.9 °C, the sheet's limit is 15.0 °C`, one after another.
[[nodiscard]] std::string unfit_words(const std::vector<OutsideCondition>& unfit, const Display& display);

}  // namespace setwell::core
