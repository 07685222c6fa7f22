#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cli/render/text.hpp"

/// Invented answers of each kind, for both ways of reading figures.
namespace setwell::cli {

/// Wednesday 12 March 2031, 09:30 by the workshop's clock, an hour ahead of UTC.
inline const quantity::Instant kNow = *quantity::parse_rfc3339("2031-03-12T09:30:00+01:00");
inline const api::DisplayWish kMetric{"C", "24h", "Europe/Paris"};
inline const api::DisplayWish kOther{"F", "12h", "Europe/Paris"};

/// Every answer as text, by the name of its file.
[[nodiscard]] std::vector<std::pair<std::string, std::string>> all_texts(const api::DisplayWish& display,
                                                                         Colour colour);
/// A zone with a forecast and limits, and one that told nothing.
[[nodiscard]] api::AirAnswer air_answer(const api::DisplayWish& display);
[[nodiscard]] api::NowAnswer now_answer(const api::DisplayWish& display);
/// A day whose hours rise by a degree from 10 °C, 18:00 to 20:00 silent.
[[nodiscard]] std::vector<api::AirHour> day();

}  // namespace setwell::cli
