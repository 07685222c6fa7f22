#pragma once

#include <optional>
#include <string>

#include "daemon/service/workshop.hpp"

/// Forecasts as answers show them.
namespace setwell::service {

/// How far air of that temperature (°C) and humidity (%) is from its dew point, K; nothing out of range.
[[nodiscard]] std::optional<double> air_margin(double air_c, double humidity_pct);

/// A zone's forecast for `air`; nothing where there is none.
[[nodiscard]] std::optional<api::ForecastNow> forecast_now(Workshop& workshop, const quantity::ZoneId& zone);

/// What the times to come rest on in one zone: a sentence or two.
[[nodiscard]] std::string ahead_in(Workshop& workshop, const quantity::ZoneId& zone);

/// What times to come rest on, over all zones.
[[nodiscard]] std::string ahead_of_all(Workshop& workshop);

/// What the coming night does to a coat just made, for its maker: the coldest hour, the dew margin then, the
/// floor, and the chance that the air overtakes it. Empty without a forecast, or once the coat is tack-free.
[[nodiscard]] std::string night_words(Workshop& workshop, const core::Piece& piece, quantity::Instant now);

}  // namespace setwell::service
