#pragma once

#include <string_view>

#include "sensors/quantity/error.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/time_zone.hpp"

/// Times as people say them.
namespace setwell::core {

/// A moment (`from` == `to`) or a stretch, and how far off it may be.
struct TimePhrase {
  quantity::Instant from;
  quantity::Instant to;
  quantity::Span error{0};
  friend bool operator==(const TimePhrase&, const TimePhrase&) = default;
};

/// Whether times that have not come yet are taken: for what was done they are not, for a plan they are.
enum class Ahead { refused, allowed };

/// How far off a typed time may be. All are judgements about people, not measurements.
inline constexpr quantity::Span kErrorNow = std::chrono::minutes(1);
inline constexpr quantity::Span kErrorTyped = std::chrono::minutes(5);
inline constexpr quantity::Span kErrorAbout = std::chrono::minutes(15);       ///< `~14:30`
inline constexpr quantity::Span kErrorEarlierDay = std::chrono::minutes(30);  ///< `yesterday 21:00`

/// Reads a time typed at `now` in `zone`:
/// - empty or `now`;
/// - `20m`, `2h`, `1h30m` (ago; the word `ago` may follow);
/// - `14:30`, `14:30:15`, `2:30pm`, `9am`: today's;
/// - `today 7:00`, `yesterday 21:00`, with Ahead::allowed also `tomorrow 7:00`, `2031-03-04 21:00`;
/// - RFC 3339 with its offset;
/// - any of them after `~` (±15 min), and two of them around `..` (a stretch; a bare second clock time takes
/// the
///   day of the first or the next, `23:00..01:00` is over midnight).
/// Answers `invalid` for what cannot be read and for times that do not exist, exist twice, or lie in the
/// wrong order, and `refused` for times that have not come; each sentence says what to type instead. Of a
/// time that exists twice only what has come counts when Ahead is refused. A bare time up to two minutes
/// ahead is now: the clock on the wall need not agree with ours. A day said with it (`today 14:30`) is taken
/// at its word up to a day ahead.
[[nodiscard]] quantity::Result<TimePhrase> read_time(std::string_view text, quantity::Instant now,
                                                     const quantity::TimeZone& zone, Ahead ahead);

/// Reads a length of time, `20m`, `2h`, `1h30m`, `90s`, `1.5h`, `2d`, units in falling order; 0 to 366 days.
[[nodiscard]] quantity::Result<quantity::Span> read_duration(std::string_view text);

}  // namespace setwell::core
