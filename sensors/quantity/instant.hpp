#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace setwell::quantity {

/// A moment, in UTC milliseconds.
using Instant = std::chrono::sys_time<std::chrono::milliseconds>;
/// A span of time between moments.
using Span = std::chrono::milliseconds;
/// A span as sheets and rates use it.
using Hours = std::chrono::duration<double, std::ratio<3600>>;
using Minutes = std::chrono::duration<double, std::ratio<60>>;
using Seconds = std::chrono::duration<double>;

[[nodiscard]] constexpr Hours hours_between(Instant from, Instant to) {
  return to - from;
}
[[nodiscard]] constexpr Instant instant_from_ms(std::int64_t ms) {
  return Instant(Span(ms));
}
[[nodiscard]] constexpr std::int64_t to_ms(Instant at) {
  return at.time_since_epoch().count();
}

/// RFC 3339 in UTC, milliseconds only where they are not zero: `2031-03-04T09:59:00.500Z`.
[[nodiscard]] std::string rfc3339_utc(Instant at);
/// RFC 3339 with a numeric offset: `2031-03-04T11:59:00+02:00`.
[[nodiscard]] std::string rfc3339(Instant at, std::chrono::minutes offset);

/// A date and time as written, before a zone gives it a moment.
struct CivilTime {
  std::chrono::local_time<std::chrono::milliseconds> local;
  /// The offset that was written with it (`Z`, `+02:00`, `+0200`), if any.
  std::optional<std::chrono::minutes> offset;
};

/// Reads `YYYY-MM-DD` (`T` or space) `HH:MM[:SS[.fraction]]` with an optional offset; the whole text must
/// match. Nothing for anything else, impossible dates included.
[[nodiscard]] std::optional<CivilTime> parse_civil(std::string_view text);
/// Reads RFC 3339; a missing offset is refused.
[[nodiscard]] std::optional<Instant> parse_rfc3339(std::string_view text);

}  // namespace setwell::quantity
