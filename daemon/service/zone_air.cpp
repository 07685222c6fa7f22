#include "daemon/service/zone_air.hpp"

#include <algorithm>

namespace setwell::service {

using core::AirPoint;
using quantity::Instant;

namespace {

template <typename Points>
auto first_from(Points& points, Instant at) {
  return std::lower_bound(points.begin(), points.end(), at, core::measured_before);
}

void note_earliest(std::optional<Instant>& earliest, Instant at) {
  if (!earliest || at < *earliest) earliest = at;
}

/// From when on the air means something else after a reading at `at` came or went: a silence before it is
/// bounded by it all along, back to the reading before.
Instant changed_from(const std::vector<AirPoint>& points, Instant at, quantity::Span limit) {
  const auto next = first_from(points, at);
  if (next == points.begin()) return Instant{};
  const Instant before = std::prev(next)->at;
  return at - before > std::min<quantity::Span>(limit, std::chrono::hours(1)) ? before : at;
}

}  // namespace

bool RankedPoints::covered(std::size_t rank, Instant at) const {
  for (const auto& [better, points] : ranks_) {
    if (better >= rank) return false;
    const auto near = first_from(points, at - reach_);
    if (near != points.end() && near->at <= at + reach_) return true;
  }
  return false;
}

template <typename Visit>
void RankedPoints::behind(std::size_t rank, Instant around, Visit visit) const {
  for (auto worse = ranks_.upper_bound(rank); worse != ranks_.end(); ++worse) {
    const auto& points = worse->second;
    for (auto it = first_from(points, around - reach_); it != points.end() && it->at <= around + reach_; ++it)
      visit(worse->first, *it);
  }
}

RankedPoints::Change RankedPoints::put(std::size_t rank, const AirPoint& point) {
  Change change;
  behind(rank, point.at, [&](std::size_t worse, const AirPoint& hidden) {
    if (!covered(worse, hidden.at)) change.hidden.push_back(hidden.at);
  });
  auto& points = ranks_[rank];
  const auto place = first_from(points, point.at);
  if (place != points.end() && place->at == point.at) {
    *place = point;
  } else {
    points.insert(place, point);
  }
  if (!covered(rank, point.at)) change.shown.push_back(point);
  return change;
}

RankedPoints::Change RankedPoints::drop(std::size_t rank, Instant at) {
  Change change;
  auto& points = ranks_[rank];
  const auto place = first_from(points, at);
  if (place == points.end() || place->at != at) return change;
  points.erase(place);
  if (!covered(rank, at)) change.hidden.push_back(at);
  behind(rank, at, [&](std::size_t worse, const AirPoint& shown) {
    if (!covered(worse, shown.at)) change.shown.push_back(shown);
  });
  return change;
}

ZoneAir::ZoneAir(core::AirHistory::Limits limits)
    : history_(limits),
      temperature_(limits.temperature_silent_after),
      humidity_(limits.humidity_silent_after) {}

std::optional<Instant> ZoneAir::apply_temperature(const RankedPoints::Change& change) {
  std::optional<Instant> earliest;
  const auto from = [&](Instant at) {
    return changed_from(history_.temperature(), at, history_.limits().temperature_silent_after);
  };
  for (const auto at : change.hidden) {
    if (history_.drop_temperature(at)) note_earliest(earliest, from(at));
  }
  for (const auto& point : change.shown) {
    if (history_.put_temperature(point)) note_earliest(earliest, from(point.at));
  }
  return earliest;
}

std::optional<Instant> ZoneAir::apply_humidity(const RankedPoints::Change& change) {
  std::optional<Instant> earliest;
  const auto from = [&](Instant at) {
    return changed_from(history_.humidity(), at, history_.limits().humidity_silent_after);
  };
  for (const auto at : change.hidden) {
    if (history_.drop_humidity(at)) note_earliest(earliest, from(at));
  }
  for (const auto& point : change.shown) {
    if (history_.put_humidity(point)) note_earliest(earliest, from(point.at));
  }
  return earliest;
}

std::optional<Instant> ZoneAir::apply_surface(const std::string& place, const RankedPoints::Change& change) {
  std::optional<Instant> earliest;
  auto* surface = history_.surface(place);
  const auto note = [&](std::optional<Instant> at) {
    if (at) note_earliest(earliest, *at);
  };
  for (const auto at : change.hidden)
    note(surface->drop(at));
  for (const auto& point : change.shown)
    note(surface->put(point));
  return earliest;
}

void ZoneAir::add_place(const std::string& place, quantity::Span silent_after) {
  surfaces_.try_emplace(place, silent_after);
  history_.add_place(place, silent_after);
}
std::optional<Instant> ZoneAir::put_surface(const std::string& place, std::size_t rank,
                                            const AirPoint& point) {
  return apply_surface(place, surfaces_.at(place).put(rank, point));
}
std::optional<Instant> ZoneAir::drop_surface(const std::string& place, std::size_t rank, Instant at) {
  return apply_surface(place, surfaces_.at(place).drop(rank, at));
}
std::optional<Instant> ZoneAir::put_temperature(std::size_t rank, const AirPoint& point) {
  return apply_temperature(temperature_.put(rank, point));
}
std::optional<Instant> ZoneAir::put_humidity(std::size_t rank, const AirPoint& point) {
  return apply_humidity(humidity_.put(rank, point));
}
std::optional<Instant> ZoneAir::drop_temperature(std::size_t rank, Instant at) {
  return apply_temperature(temperature_.drop(rank, at));
}
std::optional<Instant> ZoneAir::drop_humidity(std::size_t rank, Instant at) {
  return apply_humidity(humidity_.drop(rank, at));
}

}  // namespace setwell::service
