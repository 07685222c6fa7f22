#include "daemon/core/surface.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace setwell::core {

namespace {

enum class Bound { lower, upper };

/// The lag that makes the bound's temperature least (or greatest) from here on.
double bounding_tau(Bound bound, double surface, double air, double slope, double tau) {
  const double colder_air = surface != air ? surface - air : -slope;
  const bool air_is_colder = colder_air > 0;
  const bool quickly = bound == Bound::lower ? air_is_colder : colder_air < 0;
  return quickly ? tau / 2 : tau * 2;
}

/// When surface and air meet, in s from now; nothing if they do not within `duration`.
std::optional<double> meeting(double surface, double air, double slope, double tau, double duration) {
  const double apart = surface - air;
  if (apart * slope <= 0) return std::nullopt;
  const double at = tau * std::log1p(apart / (slope * tau));
  if (!(at > 0 && at < duration)) return std::nullopt;
  return at;
}

struct Walker {
  const AirLine& air;
  double tau;
  double lower_meets, upper_meets;

  double air_at(double start, double t) const { return start + air.slope * t; }
  SurfaceSection section(const Surface& s, double from, double to) const {
    const double lower = from == lower_meets ? air_at(air.lower, from) : s.lower;
    const double upper = from == upper_meets ? air_at(air.upper, from) : s.upper;
    SurfaceSection out{from, to, {}, {}, {}};
    const double low_air = air_at(air.lower, from), high_air = air_at(air.upper, from);
    out.lower = follow(lower, low_air, air.slope, bounding_tau(Bound::lower, lower, low_air, air.slope, tau));
    out.expected = follow(s.expected, air_at(air.expected, from), air.slope, tau);
    out.upper =
        follow(upper, high_air, air.slope, bounding_tau(Bound::upper, upper, high_air, air.slope, tau));
    return out;
  }
};

}  // namespace

SurfacePath follow(double surface, double air, double slope, double tau) {
  return {air - slope * tau, slope, surface - air + slope * tau, tau};
}

Surface SurfaceSection::at_end() const {
  const double s = to - from;
  return {lower.at(s), expected.at(s), upper.at(s)};
}

SurfaceSections follow_air(const Surface& start, const AirLine& air, double tau, double duration) {
  const auto meets = [&](Bound bound, double surface, double beside) {
    const double t = bounding_tau(bound, surface, beside, air.slope, tau);
    return meeting(surface, beside, air.slope, t, duration).value_or(duration);
  };
  const Walker walker{air, tau, meets(Bound::lower, start.lower, air.lower),
                      meets(Bound::upper, start.upper, air.upper)};
  const double first = std::min(walker.lower_meets, walker.upper_meets);
  const double second = std::max(walker.lower_meets, walker.upper_meets);
  SurfaceSections out;
  Surface surface = start;
  double from = 0;
  for (const double to : {first, second, duration}) {
    if (to <= from) continue;
    out.sections[out.count] = walker.section(surface, from, to);
    if (to < duration) surface = out.sections[out.count].at_end();
    ++out.count;
    from = to;
  }
  return out;
}

SurfaceSections measured_sections(const Surface& measured, double slope, double duration) {
  SurfaceSections out;
  out.sections[0] = {0,
                     duration,
                     {measured.lower, slope, 0, 1},
                     {measured.expected, slope, 0, 1},
                     {measured.upper, slope, 0, 1}};
  out.count = 1;
  return out;
}

namespace detail {

Cutting cutting_of(const SurfaceSection& section, Closeness closeness) {
  constexpr double kWidestStepKelvin = 4.0;
  const double least_bend = closeness == Closeness::recorded ? 0.001 : 0.5;  // K
  const double length = section.to - section.from;
  double bent = 0, shortest = length * 4, widest = 0;
  for (const SurfacePath* path : {&section.lower, &section.expected, &section.upper}) {
    const double swing = std::fabs(path->swing);
    widest = std::max(widest, std::fabs(path->slope) * length + swing);
    if (swing <= least_bend) continue;
    shortest = std::min(shortest, path->tau * std::min(0.5, kWidestStepKelvin / swing));
    // ln x > 1 - 1/x: most pieces are so short beside the lag that they end bent, and need no logarithm.
    const bool to_the_end = path->tau * (1 - least_bend / swing) > 2 * length;
    bent = std::max(bent, to_the_end ? length : path->tau * std::log(swing / least_bend));
  }
  Cutting cut;
  cut.bent = std::min(bent, length);
  const int by_change = static_cast<int>(std::ceil(widest / kWidestStepKelvin));
  if (cut.bent > 0) cut.short_steps = std::max(1, static_cast<int>(std::ceil(cut.bent / shortest)));
  if (cut.bent < length) cut.long_steps = std::max(1, by_change);
  return cut;
}

}  // namespace detail

}  // namespace setwell::core
