#pragma once

#include "daemon/core/forecast.hpp"
#include "sensors/quantity/celsius.hpp"

namespace setwell::core {

/// The forecast of a zone that is heated and on: its set-point, with the spread that a thermostat leaves. The
/// moisture is that of the room it stands in; no humidity without a forecast of that room. As long as it
/// stays on: nobody knows when it is switched off.
[[nodiscard]] Forecast heated_forecast(quantity::Celsius set_point, const Forecast* room,
                                       quantity::Instant issued);

}  // namespace setwell::core
