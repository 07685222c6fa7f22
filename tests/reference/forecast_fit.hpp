#pragma once

#include <array>
#include <string>
#include <vector>

#include "daemon/core/forecast_learner.hpp"
#include "tests/reference/forecast_rooms.hpp"

/// What is usual in rooms: least absolute departures over many rooms, each scaled by its own usual departure
/// and none counting more than another of six weeks.
namespace setwell::reference {

/// The cases of one room, for a prior of any set of rooms.
struct RoomCases {
  struct Case {
    core::Features x{};
    double y = 0;
  };
  std::array<std::array<std::vector<Case>, core::kKnots.size()>, 2> cases;
};
[[nodiscard]] RoomCases cases_of(const RecordedRoom& room);

/// `leave_out` is an index into `rooms`, or past the end to take all.
[[nodiscard]] core::ForecastPrior fitted_prior(const std::vector<RoomCases>& rooms, std::size_t leave_out);

/// The text of daemon/core/data/forecast_prior.inc.
[[nodiscard]] std::string prior_text(const core::ForecastPrior& prior,
                                     const std::vector<RecordedRoom>& rooms);

}  // namespace setwell::reference
