#pragma once

#include <cstdint>
#include <vector>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/relative_humidity.hpp"

/// The air of an invented room. Pure functions, any thread; the same specification gives the same rows.
///
/// Outside, temperature is a season's mean, a daily wave that is warmest at 15:00 and weather that comes and
/// goes over a day and a half; the vapour pressure wanders slowly and never exceeds saturation. Inside, the
/// room follows the outside through its walls as a first-order lag, with some warmth of its own by day; a
/// heated one is drawn to its set-point instead. Vapour comes from outside plus what people and work give
/// off, and relative humidity follows from it by psychrometrics, so warming the room dries it. The hours are
/// those of UTC.
namespace setwell::room {

enum class Season { winter, summer };
enum class Heating {
  none,
  steady,         ///< 20 °C day and night
  night_set_back  ///< 20 °C from 06:00 to 21:00, else 14 °C
};

struct RoomSpec {
  std::uint64_t seed = 1;
  Season season = Season::winter;
  Heating heating = Heating::none;
  quantity::Instant begin{};
  quantity::Instant end{};                        ///< not included
  quantity::Span step = std::chrono::minutes(5);  ///< at least a second
};

/// The air at one time, as a good sensor would read it.
struct RoomAir {
  quantity::Instant at;
  quantity::Celsius temperature;
  quantity::RelativeHumidity humidity;
};

/// A row at `begin` and after every step before `end`; none when the span is empty or the step too short.
[[nodiscard]] std::vector<RoomAir> generate(const RoomSpec& spec);

}  // namespace setwell::room
