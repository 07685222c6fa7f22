#pragma once

#include <string>
#include <vector>

#include "tests/reference/forecast_backtest.hpp"

/// Figures of a backtest for people and for programs. Means are over rooms of 21 days or more.
namespace setwell::reference {

[[nodiscard]] std::string table_of(const std::vector<RoomScores>& rooms);
[[nodiscard]] std::string json_of(const std::vector<RoomScores>& rooms);
/// What the forecast must hold and does not: a sentence each. Mean ratio and every horizon below 1; 90 %
/// bands cover 85 to 94 % on the mean of rooms, no room under 80 %.
[[nodiscard]] std::vector<std::string> faults_of(const std::vector<RoomScores>& rooms);

}  // namespace setwell::reference
