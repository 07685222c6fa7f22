#pragma once

#include <chrono>
#include <optional>
#include <string_view>
#include <utility>

#include "sensors/quantity/instant.hpp"

namespace setwell::runtime {

/// The day and time of a yearly change as POSIX TZ texts say it.
struct YearlyChange {
  enum class Form { julian, day_of_year, month_week_day };
  Form form = Form::month_week_day;
  unsigned month = 1;             ///< 1…12
  unsigned week = 1;              ///< 1…5, five is the last
  unsigned weekday = 0;           ///< 0 is Sunday
  int day = 0;                    ///< julian 1…365 without 29 February; day of year 0…365 with it
  std::chrono::seconds at{7200};  ///< local time of the clock then in force, -167…167 h

  /// Local date and time of the change in a year.
  [[nodiscard]] std::chrono::local_seconds in(std::chrono::year year) const;
};

/// What holds after the last listed change of a zone: one offset, or two that alternate.
struct ZoneRule {
  std::chrono::seconds standard{0};  ///< local minus UTC
  struct Daylight {
    std::chrono::seconds offset{0};
    YearlyChange begins;
    YearlyChange ends;
  };
  std::optional<Daylight> daylight;
};

/// Reads a POSIX TZ text with the extensions of RFC 8536: `CET-1CEST,M3.5.0,M10.5.0/3`, `<+03>-3`.
/// Nothing for anything else.
[[nodiscard]] std::optional<ZoneRule> parse_zone_rule(std::string_view text);

}  // namespace setwell::runtime
