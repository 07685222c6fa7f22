#pragma once

#include <chrono>
#include <optional>
#include <set>

#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/time_zone.hpp"

/// When the maker is up, and when notices should keep quiet.
namespace setwell::core {

/// The hours of a day in which the maker works, by the clock on the wall. `to` at or before `from` runs into
/// the next day; both alike mean the whole day. A stretch belongs to the day it begins on. Both are 0 to 24
/// h.
struct WakingHours {
  std::chrono::minutes from{7 * 60};
  std::chrono::minutes to{22 * 60};
  std::set<unsigned> days_off{};  ///< 0 Sunday to 6 Saturday
  friend bool operator==(const WakingHours&, const WakingHours&) = default;
};

/// The hours in which only what cannot wait is told; both alike mean none.
struct QuietHours {
  std::chrono::minutes from{22 * 60};
  std::chrono::minutes to{7 * 60};
  friend bool operator==(const QuietHours&, const QuietHours&) = default;
};

/// From `from` up to, not including, `until`.
struct TimeStretch {
  quantity::Instant from;
  quantity::Instant until;
  friend bool operator==(const TimeStretch&, const TimeStretch&) = default;
};

/// How far ahead waking time is looked for.
inline constexpr std::chrono::days kWakingHorizon{21};

[[nodiscard]] bool is_waking(const WakingHours& hours, const quantity::TimeZone& zone, quantity::Instant at);

/// `at` itself when waking, else the next moment that is; nothing when every day is off.
[[nodiscard]] std::optional<quantity::Instant> next_waking(const WakingHours& hours,
                                                           const quantity::TimeZone& zone,
                                                           quantity::Instant at);

/// The end of the waking stretch that holds `at`; nothing when `at` lies outside all of them.
[[nodiscard]] std::optional<quantity::Instant> waking_ends(const WakingHours& hours,
                                                           const quantity::TimeZone& zone,
                                                           quantity::Instant at);

/// The waking time that comes last before `at`, up to `at` itself; nothing when there is none inside the
/// horizon.
[[nodiscard]] std::optional<TimeStretch> waking_before(const WakingHours& hours,
                                                       const quantity::TimeZone& zone, quantity::Instant at);

/// The first waking stretch of at least `least` inside [from, until); without `until` inside the horizon.
/// Nothing when there is none: a window of the night is a window the maker does not have.
[[nodiscard]] std::optional<TimeStretch> usable_part(const WakingHours& hours, const quantity::TimeZone& zone,
                                                     quantity::Instant from,
                                                     std::optional<quantity::Instant> until,
                                                     quantity::Span least);

[[nodiscard]] bool is_quiet(const QuietHours& hours, const quantity::TimeZone& zone, quantity::Instant at);

/// `at` itself when not quiet, else when quiet ends.
[[nodiscard]] quantity::Instant quiet_ends(const QuietHours& hours, const quantity::TimeZone& zone,
                                           quantity::Instant at);

}  // namespace setwell::core
