#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

#include "daemon/core/quadrature.hpp"

/// Integrals of a rate along a recorded temperature path that is linear between its points: equivalent ages,
/// and the time at which one is reached.
namespace setwell::core {

struct PathPoint {
  double at_s = 0;
  double celsius = 0;
};

/// A linear piece of a path, free of kinks inside.
struct PathPiece {
  PathPoint from, to;
};

/// The pieces of a path between its first and last point, cut wherever the temperature passes one of `kinks`
/// (°C), so that a rate with kinks or jumps there is smooth within each. Points must rise in time; steps of
/// no duration are left out.
[[nodiscard]] std::vector<PathPiece> pieces_of(std::span<const PathPoint> path,
                                               std::span<const double> kinks);

/// The path up to a moment, its last point interpolated.
[[nodiscard]] std::vector<PathPoint> path_until(std::span<const PathPoint> path, double at_s);

/// ∫ rate dt over one piece; `rate` in 1/h of °C, answers hours (or progress).
template <typename Rate>
[[nodiscard]] double integral_h(const PathPiece& piece, Rate&& rate) {
  return integrate_linear(piece.from.celsius, piece.to.celsius, (piece.to.at_s - piece.from.at_s) / 3600.0,
                          rate);
}

/// ∫ rate dt over a path.
template <typename Rate>
[[nodiscard]] double integral_h(std::span<const PathPoint> path, std::span<const double> kinks, Rate&& rate) {
  double sum = 0.0;
  for (const PathPiece& piece : pieces_of(path, kinks))
    sum += integral_h(piece, rate);
  return sum;
}

/// A target that only rounding keeps out of reach at the path's very end counts as reached.
inline constexpr double kReachedSlack = 1e-13;

/// When the integral first reaches `target`, s, by bisection to the last digit; nothing when it does not.
template <typename Rate>
[[nodiscard]] std::optional<double> reached_s(std::span<const PathPoint> path, std::span<const double> kinks,
                                              double target, Rate&& rate) {
  double sum = 0.0;
  for (const PathPiece& piece : pieces_of(path, kinks)) {
    const double more = integral_h(piece, rate);
    if (sum + more < target - kReachedSlack * std::fabs(target)) {
      sum += more;
      continue;
    }
    const auto point_at = [&](double f) {
      return PathPoint{piece.from.at_s + (piece.to.at_s - piece.from.at_s) * f,
                       piece.from.celsius + (piece.to.celsius - piece.from.celsius) * f};
    };
    double low = 0.0;
    double high = 1.0;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (low + high);
      const bool there = sum + integral_h(PathPiece{piece.from, point_at(middle)}, rate) >= target;
      (there ? high : low) = middle;
    }
    return point_at(high).at_s;
  }
  return std::nullopt;
}

}  // namespace setwell::core
