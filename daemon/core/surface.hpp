#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <span>

/// The surface of a piece follows the air about it: τ dTs/dt = Ta - Ts, exact while the air goes linearly.
///
/// With Ta = A + s·u: Ts(u) = A + s·u - sτ + (Ts(0) - A + sτ)·exp(-u/τ). The bounds hold for any τ(t) within
/// [τ/2, 2τ]: the lower one follows the air quickly (τ/2) while the air is colder than it and slowly (2τ)
/// while it is warmer, the upper one the reverse. Times in seconds, temperatures in °C as doubles. Pure.
namespace setwell::core {

/// The surface at one moment; lower <= expected <= upper.
struct Surface {
  double lower = 0, expected = 0, upper = 0;
};

/// How the air goes during one leg.
struct AirLine {
  double lower = 0, expected = 0, upper = 0;  ///< at the leg's start: the reading less its error, …
  double slope = 0;                           ///< K/s, of all three
};

/// A surface temperature as a function of time.
struct SurfacePath {
  double base = 0, slope = 0, swing = 0, tau = 1;
  [[nodiscard]] double at(double s) const {
    return base + slope * s + (swing == 0.0 || s == 0.0 ? swing : swing * std::exp(-s / tau));
  }
};

/// The path of a surface that starts at `surface` beside air that starts at `air`.
[[nodiscard]] SurfacePath follow(double surface, double air, double slope, double tau);

/// A time over which each bound keeps its own τ, so the lower and the upper path are monotone.
struct SurfaceSection {
  double from = 0, to = 0;             ///< s from the leg's start
  SurfacePath lower, expected, upper;  ///< their times count from `from`
  [[nodiscard]] Surface at_end() const;
};

/// The sections of one leg, in order; at most three.
struct SurfaceSections {
  std::array<SurfaceSection, 3> sections;
  std::size_t count = 0;
  /// A view: not of a temporary.
  [[nodiscard]] std::span<const SurfaceSection> all() const& { return {sections.data(), count}; }
  std::span<const SurfaceSection> all() && = delete;
};

/// The surface over a leg of `duration` s. `tau` is the form's lag in s.
[[nodiscard]] SurfaceSections follow_air(const Surface& start, const AirLine& air, double tau,
                                         double duration);
/// The surface as it was measured, `slope` in K/s.
[[nodiscard]] SurfaceSections measured_sections(const Surface& measured, double slope, double duration);

/// How closely a surface is followed through its bends: over recorded air until they no longer show in a
/// rate; over assumed air, which is known to a kelvin at best, until they are half a kelvin.
enum class Closeness { recorded, assumed };

/// Steps short enough to integrate a rate over the section: half the shortest lag that still bends a path,
/// and at most 4 K each. Calls `step(from, to)` in s from the section's start.
template <typename Step>
void for_each_step(const SurfaceSection& section, Step&& step, Closeness closeness = Closeness::recorded);

namespace detail {
struct Cutting {
  double bent = 0;  ///< until here the steps are short
  int short_steps = 0;
  int long_steps = 0;
};
[[nodiscard]] Cutting cutting_of(const SurfaceSection& section, Closeness closeness);
}  // namespace detail

template <typename Step>
void for_each_step(const SurfaceSection& section, Step&& step, Closeness closeness) {
  const detail::Cutting cut = detail::cutting_of(section, closeness);
  const double length = section.to - section.from;
  double at = 0;
  for (int i = 0; i < cut.short_steps; ++i) {
    const double end = i + 1 == cut.short_steps ? cut.bent : cut.bent * (i + 1) / cut.short_steps;
    step(at, end);
    at = end;
  }
  for (int i = 0; i < cut.long_steps; ++i) {
    const double end =
        i + 1 == cut.long_steps ? length : cut.bent + (length - cut.bent) * (i + 1) / cut.long_steps;
    step(at, end);
    at = end;
  }
}

}  // namespace setwell::core
