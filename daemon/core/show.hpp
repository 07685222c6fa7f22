#pragma once

#include <optional>
#include <string>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/relative_humidity.hpp"
#include "sensors/quantity/time_zone.hpp"

/// Values as the maker reads them, for notices and the command line. English, never by the machine's locale.
namespace setwell::core {

enum class Units { celsius, fahrenheit };
enum class ClockStyle { h24, h12 };

/// How a workshop likes to read. A plain value; the zone is a copy.
struct Display {
  Units units = Units::celsius;
  ClockStyle clock = ClockStyle::h24;
  quantity::TimeZone zone;
};

/// Times are shown to the minute: a window opens at the next full one and closes at the last, never wider
/// than it was computed.
enum class Minute { past, next };

[[nodiscard]] std::string show(quantity::Celsius temperature, const Display& display);  ///< `18.4 °C`
[[nodiscard]] std::string show(quantity::CelsiusDelta difference,
                               const Display& display);               ///< `2.8 °C`, `5.0 °F`
[[nodiscard]] std::string show(quantity::RelativeHumidity humidity);  ///< `61 %`
[[nodiscard]] std::string show(quantity::Grams mass);                 ///< `12.5 g`
/// `45 s`, `12 min`, `2 h 10 min`, `3 d 4 h`; to the nearest minute from one minute on, hours from a day on.
/// A negative span is shown by its size with a minus sign before it.
[[nodiscard]] std::string show(quantity::Span span);

/// `14:30` or `2:30 pm`.
[[nodiscard]] std::string clock_time(quantity::Instant at, const Display& display,
                                     Minute minute = Minute::past);

/// `today 14:30`, `tomorrow 07:10`, `yesterday 21:00`, else `Thu 12 Mar 09:00`, with the year if not this
/// one.
[[nodiscard]] std::string moment(quantity::Instant at, quantity::Instant now, const Display& display,
                                 Minute minute = Minute::past);

/// `today 14:30 to 18:00`, `today 22:00 to tomorrow 07:00`, `from today 14:30` or `until tomorrow 07:00`
/// where an end is open, empty where both are. The beginning is rounded up and the end down.
[[nodiscard]] std::string stretch(std::optional<quantity::Instant> from,
                                  std::optional<quantity::Instant> until, quantity::Instant now,
                                  const Display& display);

}  // namespace setwell::core
