#pragma once

#include "daemon/core/forecast.hpp"
#include "tests/reference/forecast_backtest.hpp"

namespace setwell::reference {

/// Holds the forecast issued at 18:00 of `hour` against the night that came; nights with a silence are passed
/// over.
void score_night(const RecordedRoom& room, core::HourIndex hour, const core::Forecast& forecast,
                 RoomScores& scores);

}  // namespace setwell::reference
