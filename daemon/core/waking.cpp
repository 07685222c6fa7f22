#include "daemon/core/waking.hpp"

#include <algorithm>
#include <vector>

namespace setwell::core {
namespace {

using quantity::Instant;
using quantity::LocalTime;
using quantity::Span;
using quantity::TimeZone;
using Day = std::chrono::local_days;

constexpr std::chrono::days kOneDay{1};

Day day_of(const TimeZone& zone, Instant at) {
  return std::chrono::floor<std::chrono::days>(zone.to_local(at));
}

/// What the clock's hands make of one day: in a skipped hour the moment of the jump, in a repeated one the
/// first.
TimeStretch stretch_on(Day day, std::chrono::minutes from, std::chrono::minutes to, const TimeZone& zone) {
  const Day last = to <= from ? day + kOneDay : day;
  return {zone.earliest_of(LocalTime(day) + from), zone.earliest_of(LocalTime(last) + to)};
}

/// The waking stretches that touch [from, until), in order, those that meet joined.
std::vector<TimeStretch> stretches(const WakingHours& hours, const TimeZone& zone, Instant from,
                                   Instant until) {
  std::vector<TimeStretch> found;
  for (Day day = day_of(zone, from) - kOneDay; day <= day_of(zone, until); day += kOneDay) {
    if (hours.days_off.contains(std::chrono::weekday(day).c_encoding())) continue;
    const TimeStretch stretch = stretch_on(day, hours.from, hours.to, zone);
    if (stretch.until <= from || stretch.from >= until || stretch.until <= stretch.from) continue;
    if (!found.empty() && found.back().until >= stretch.from) {
      found.back().until = std::max(found.back().until, stretch.until);
    } else {
      found.push_back(stretch);
    }
  }
  return found;
}

/// The waking stretch that holds `at`, or the next one. Whole days that meet go on to the horizon.
std::optional<TimeStretch> stretch_from(const WakingHours& hours, const TimeZone& zone, Instant at) {
  const auto found = stretches(hours, zone, at, at + kWakingHorizon);
  if (found.empty()) return std::nullopt;
  return found.front();
}

}  // namespace

bool is_waking(const WakingHours& hours, const TimeZone& zone, Instant at) {
  const auto found = stretches(hours, zone, at, at + Span(1));
  return !found.empty();
}

std::optional<Instant> next_waking(const WakingHours& hours, const TimeZone& zone, Instant at) {
  const auto stretch = stretch_from(hours, zone, at);
  if (!stretch) return std::nullopt;
  return std::max(at, stretch->from);
}

std::optional<Instant> waking_ends(const WakingHours& hours, const TimeZone& zone, Instant at) {
  const auto stretch = stretch_from(hours, zone, at);
  if (!stretch || stretch->from > at) return std::nullopt;
  return stretch->until;
}

std::optional<TimeStretch> waking_before(const WakingHours& hours, const TimeZone& zone, Instant at) {
  auto found = stretches(hours, zone, at - kWakingHorizon, at);
  if (found.empty()) return std::nullopt;
  found.back().until = std::min(found.back().until, at);
  return found.back();
}

std::optional<TimeStretch> usable_part(const WakingHours& hours, const TimeZone& zone, Instant from,
                                       std::optional<Instant> until, Span least) {
  const Instant end = until ? std::min(*until, from + kWakingHorizon) : from + kWakingHorizon;
  if (end <= from) return std::nullopt;
  for (const TimeStretch& stretch : stretches(hours, zone, from, end)) {
    const TimeStretch part{std::max(stretch.from, from),
                           until ? std::min(stretch.until, *until) : stretch.until};
    if (part.until - part.from >= least) return part;
  }
  return std::nullopt;
}

bool is_quiet(const QuietHours& hours, const TimeZone& zone, Instant at) {
  return quiet_ends(hours, zone, at) != at;
}

Instant quiet_ends(const QuietHours& hours, const TimeZone& zone, Instant at) {
  if (hours.from == hours.to) return at;
  for (const Day day : {day_of(zone, at) - kOneDay, day_of(zone, at)}) {
    const TimeStretch quiet = stretch_on(day, hours.from, hours.to, zone);
    if (quiet.from <= at && at < quiet.until) return quiet.until;
  }
  return at;
}

}  // namespace setwell::core
