#include "daemon/core/surface_history.hpp"

#include <algorithm>

namespace setwell::core {

using quantity::Instant;
using quantity::Seconds;

Instant SurfaceHistory::changed_from(Points::const_iterator point) const {
  if (point == points_.begin()) return point->at;
  const Instant before = std::prev(point)->at;
  return point->at - before <= silent_after_ ? before : point->at;
}

std::optional<Instant> SurfaceHistory::put(const AirPoint& point) {
  if (!kPossibleCelsius.holds(point)) return std::nullopt;
  auto place = std::lower_bound(points_.begin(), points_.end(), point.at, measured_before);
  if (place != points_.end() && place->at == point.at) {
    if (*place == point) return std::nullopt;
    *place = point;
  } else {
    // One between two that were no silence apart changes the line from the first of them on, as any does.
    place = points_.insert(place, point);
  }
  return changed_from(place);
}

std::optional<Instant> SurfaceHistory::drop(Instant at) {
  const auto place = std::lower_bound(points_.begin(), points_.end(), at, measured_before);
  if (place == points_.end() || place->at != at) return std::nullopt;
  const auto from = changed_from(place);
  points_.erase(place);
  return from;
}

std::optional<MeasuredSurface> SurfaceHistory::over(Instant from, Instant seen, Past past) const {
  const auto next = std::upper_bound(points_.begin(), points_.end(), from, measured_after);
  if (next == points_.begin()) return std::nullopt;
  const AirPoint& a = *std::prev(next);
  if (next == points_.end() || next->at > seen) {
    if (past == Past::unknown || seen - a.at > silent_after_) return std::nullopt;
    return MeasuredSurface{a.value, a.error, 0};
  }
  if (next->at - a.at > silent_after_) return std::nullopt;
  const double slope = (next->value - a.value) / Seconds(next->at - a.at).count();
  return MeasuredSurface{a.value + slope * Seconds(from - a.at).count(), std::max(a.error, next->error),
                         slope};
}

std::vector<Instant> SurfaceHistory::within(Instant from, Instant to, Instant seen) const {
  std::vector<Instant> moments;
  for (auto point = std::upper_bound(points_.begin(), points_.end(), from, measured_after);
       point != points_.end() && point->at < to && point->at <= seen; ++point)
    moments.push_back(point->at);
  return moments;
}

Instant SurfaceHistory::settled_upto(Instant told) const {
  if (points_.empty() || told - points_.back().at > silent_after_) return told;
  return std::min(told, points_.back().at);
}

void SurfaceHistory::forget_before(Instant at) {
  points_.erase(points_.begin(), std::lower_bound(points_.begin(), points_.end(), at, measured_before));
}

}  // namespace setwell::core
