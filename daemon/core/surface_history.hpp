#pragma once

#include <optional>
#include <vector>

#include "daemon/core/air_point.hpp"

/// The surface at one place as a channel measured it.
namespace setwell::core {

/// A measured surface over a time, °C; linear.
struct MeasuredSurface {
  double celsius = 0;  ///< at its beginning
  double error = 0;
  double slope = 0;  ///< K/s
};

/// Time-ordered trusted readings of the surface at one place. Two of them no farther apart than the limit
/// have a line between them; over a longer silence nothing was measured. A value; the same points mean the
/// same, in whatever order they were put in.
class SurfaceHistory {
 public:
  SurfaceHistory() = default;
  explicit SurfaceHistory(quantity::Span silent_after) : silent_after_(silent_after) {}

  /// Each answers from when on the surface means something else; nothing when it does not.
  std::optional<quantity::Instant> put(const AirPoint& point);
  std::optional<quantity::Instant> drop(quantity::Instant at);

  /// What is past the newest reading: nothing measured, or the newest one held as long as its limit lasts.
  enum class Past { unknown, held };
  /// The surface from `from` on up to the next reading, those after `seen` put aside. Nothing where none was
  /// measured.
  [[nodiscard]] std::optional<MeasuredSurface> over(quantity::Instant from, quantity::Instant seen,
                                                    Past past) const;
  /// The moments of readings within (from, to), up to `seen`.
  [[nodiscard]] std::vector<quantity::Instant> within(quantity::Instant from, quantity::Instant to,
                                                      quantity::Instant seen) const;
  /// Up to where it is final for now, `told` being the newest reading of the air: clocks wait for the next
  /// reading of the surface, but not for a channel that has fallen silent.
  [[nodiscard]] quantity::Instant settled_upto(quantity::Instant told) const;

  void forget_before(quantity::Instant at);
  [[nodiscard]] bool empty() const { return points_.empty(); }
  friend bool operator==(const SurfaceHistory&, const SurfaceHistory&) = default;

 private:
  using Points = std::vector<AirPoint>;
  [[nodiscard]] quantity::Instant changed_from(Points::const_iterator point) const;

  quantity::Span silent_after_{std::chrono::minutes(15)};
  Points points_;
};

}  // namespace setwell::core
