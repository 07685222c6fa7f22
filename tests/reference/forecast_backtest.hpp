#pragma once

#include <array>
#include <string>

#include "daemon/core/forecast_learner.hpp"
#include "tests/reference/forecast_rooms.hpp"
#include "tests/reference/forecast_scores.hpp"

/// The forecast of the daemon run over a recorded room, a new one every hour, each from what was told by
/// then.
namespace setwell::reference {

inline constexpr std::array<int, 6> kScored{1, 3, 6, 12, 24, 48};

struct RoomScores {
  std::string name;
  double days = 0;
  std::array<std::array<Scores, kScored.size()>, 2> scores;  ///< by quantity and horizon
  NightScores night;
  /// Under 10, 13 or 16 °C, or within 3 K of the dew point, in the six hours after 18:00: what overtakes a
  /// coat that is tack-free by midnight.
  ChanceScores under_floor, dew_margin;
  double worst_ms = 0;  ///< the longest hour's learning and forecast
  double mean_ms = 0;
  std::size_t state_bytes = 0;  ///< stored, at the end
};

/// `last_days` > 0 scores only the last so many days, learning from the two weeks (and the shape's three)
/// ahead of them.
[[nodiscard]] RoomScores backtest(const RecordedRoom& room, const core::ForecastPrior& prior, int last_days);

}  // namespace setwell::reference
