#include "daemon/service/zone_air.hpp"

#include <algorithm>

namespace setwell::service {

using core::AirPoint;
using quantity::Instant;

namespace {

void note_earliest(std::optional<Instant>& earliest, Instant at) {
  if (!earliest || at < *earliest) earliest = at;
}

}  // namespace

bool RankedPoints::covered(std::size_t rank, Instant at) const {
  for (const auto& [better, points] : ranks_) {
    if (better >= rank) return false;
    const auto near = points.lower_bound(at - reach_);
    if (near != points.end() && near->first <= at + reach_) return true;
  }
  return false;
}

template <typename Visit>
void RankedPoints::behind(std::size_t rank, Instant around, Visit visit) const {
  for (auto worse = ranks_.upper_bound(rank); worse != ranks_.end(); ++worse) {
    const auto& points = worse->second;
    for (auto it = points.lower_bound(around - reach_); it != points.end() && it->first <= around + reach_;
         ++it)
      visit(worse->first, it->second);
  }
}

RankedPoints::Change RankedPoints::put(std::size_t rank, const AirPoint& point) {
  Change change;
  behind(rank, point.at, [&](std::size_t worse, const AirPoint& hidden) {
    if (!covered(worse, hidden.at)) change.hidden.push_back(hidden.at);
  });
  ranks_[rank].insert_or_assign(point.at, point);
  if (!covered(rank, point.at)) change.shown.push_back(point);
  return change;
}

RankedPoints::Change RankedPoints::drop(std::size_t rank, Instant at) {
  Change change;
  if (ranks_[rank].erase(at) == 0) return change;
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
  for (const auto at : change.hidden) {
    if (history_.drop_temperature(at)) note_earliest(earliest, at);
  }
  for (const auto& point : change.shown) {
    if (history_.put_temperature(point)) note_earliest(earliest, point.at);
  }
  return earliest;
}

std::optional<Instant> ZoneAir::apply_humidity(const RankedPoints::Change& change) {
  std::optional<Instant> earliest;
  for (const auto at : change.hidden) {
    if (history_.drop_humidity(at)) note_earliest(earliest, at);
  }
  for (const auto& point : change.shown) {
    if (history_.put_humidity(point)) note_earliest(earliest, point.at);
  }
  return earliest;
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
