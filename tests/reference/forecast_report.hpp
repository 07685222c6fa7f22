#pragma once

#include <string>
#include <vector>

#include "tests/reference/forecast_backtest.hpp"

/// Figures of a backtest for people and for programs. Means are over rooms of 21 days or more.
namespace setwell::reference {

[[nodiscard]] std::string table_of(const std::vector<RoomScores>& rooms);
[[nodiscard]] std::string json_of(const std::vector<RoomScores>& rooms);
/// Three weeks hold ten cases of 48 h that do not overlap: too few to hold a single room to its coverage.
enum class Hold { mean_only, every_room };
/// What the forecast must hold and does not: a sentence each. Mean ratio of every horizon below 1; 90 % bands
/// cover 85 to 94 % on the mean of rooms; and in every room at least 80 %.
[[nodiscard]] std::vector<std::string> faults_of(const std::vector<RoomScores>& rooms, Hold hold);

}  // namespace setwell::reference
