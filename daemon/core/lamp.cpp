#include "daemon/core/lamp.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/core.h>

#include "daemon/core/coat_state.hpp"

namespace setwell::core {
namespace {

constexpr double kMinutesPerHour = 60.0;
constexpr double kMillisecondsPerMinute = 60'000.0;

double needed(const LampMinutes& lamp, Track track) {
  switch (track) {
    case Track::slow:
      return lamp.slow;
    case Track::expected:
      return lamp.expected;
    case Track::fast:
      return lamp.fast;
    case Track::expected_upper:
      return lamp.expected_upper;
    case Track::likely:
      return lamp.likely;
  }
  return lamp.slow;
}

quantity::Instant lit_from(const CoatPlan& plan, Track track) {
  if (track == Track::slow) return plan.slow_start;
  return track == Track::fast ? plan.fast_start : plan.expected_start;
}

double of(const RateFactors& f, Track track) {
  if (track == Track::slow) return f.slow;
  return track == Track::fast ? f.fast : f.expected;
}

}  // namespace

bool counts_lamp(Family family, Milestone milestone) {
  if (family != Family::light_cured) return false;
  constexpr std::array kByTheWall{Milestone::pot_life_over, Milestone::flash_off_over,
                                  Milestone::recoat_closes, Milestone::gap_begins};
  return std::find(kByTheWall.begin(), kByTheWall.end(), milestone) == kByTheWall.end();
}

std::optional<LampMinutes> lamp_minutes(const TimeTable& table, std::optional<quantity::Hours> least,
                                        const Strictness& strictness) {
  double low = 0, high = 0;
  for (const Row& row : table.rows) {
    if (row.time.wording == Wording::no_limit) continue;
    const double shortest = row.time.low.count() * kMinutesPerHour;
    low = low == 0 ? shortest : std::min(low, shortest);
    high = std::max(high, row.time.high.count() * kMinutesPerHour);
  }
  if (low <= 0) return std::nullopt;
  const double asked = least ? least->count() * kMinutesPerHour : 0.0;
  const double upper = std::max(high, asked), middle = std::max(std::sqrt(low * high), asked);
  LampMinutes lamp;
  lamp.expected = middle;
  lamp.expected_upper = upper;
  lamp.likely = middle * std::exp(kLikelyQuantile * strictness.scatter);
  lamp.slow = std::max(upper * std::exp(strictness.k * strictness.scatter), lamp.likely);
  lamp.fast = low * std::exp(-strictness.k * strictness.scatter);
  return lamp;
}

std::string waits_for_lamp(std::optional<quantity::Minutes> logged, double needed_min) {
  if (!logged) return fmt::format("waits for the lamp: none logged of at least {:.1f} min", needed_min);
  return fmt::format("waits for the lamp: {:g} of at least {:.1f} min logged", logged->count(), needed_min);
}

double lamp_needed_min(const CoatPlan& plan, const SheetClock& clock, Track track) {
  return needed(*clock.lamp, track) / of(plan.film, track);
}

void run_lamp(const CoatPlan& plan, CoatNumbers& numbers, quantity::Instant upto) {
  for (std::size_t c = 0; c < plan.clocks->size(); ++c) {
    const SheetClock& clock = (*plan.clocks)[c];
    if (!clock.lamp) continue;
    for (const Track track : kAllTracks) {
      if (numbers.reached(c, track)) continue;
      // From the start each time, so that how the record is cut up changes nothing.
      const double from = number(lit_from(plan, track));
      const double lit = std::clamp(number(upto) - from, 0.0, plan.lamp_ms);
      const double whole = lamp_needed_min(plan, clock, track) * kMillisecondsPerMinute;
      numbers.progress(c, track) = std::min(1.0, lit / whole);
      if (lit >= whole) {
        numbers.progress(c, track) = 1.0;
        numbers.at(c, track) = std::ceil(from + whole);
      }
    }
  }
}

}  // namespace setwell::core
