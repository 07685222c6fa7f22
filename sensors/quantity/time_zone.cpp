#include "sensors/quantity/time_zone.hpp"

#include <algorithm>
#include <set>
#include <utility>

namespace setwell::quantity {

TimeZone::TimeZone(std::string name, std::chrono::minutes before, std::vector<Change> changes)
    : name_(std::move(name)), before_(before), changes_(std::move(changes)) {}

std::chrono::minutes TimeZone::offset_at(Instant at) const {
  const auto after =
      std::upper_bound(changes_.begin(), changes_.end(), at,
                       [](Instant moment, const Change& change) { return moment < change.at; });
  return after == changes_.begin() ? before_ : std::prev(after)->offset;
}

LocalTime TimeZone::to_local(Instant at) const {
  return LocalTime(at.time_since_epoch() + offset_at(at));
}

std::vector<Instant> TimeZone::moments_of(LocalTime local) const {
  // Offsets in force within a day of it are the only candidates: no zone shifts by more than that.
  const Instant guess(local.time_since_epoch());
  std::set<std::chrono::minutes> offsets{offset_at(guess - std::chrono::days(1)), offset_at(guess),
                                         offset_at(guess + std::chrono::days(1))};
  std::vector<Instant> moments;
  for (const auto offset : offsets) {
    const Instant moment = guess - offset;
    if (offset_at(moment) == offset) moments.push_back(moment);
  }
  std::sort(moments.begin(), moments.end());
  return moments;
}

Instant TimeZone::earliest_of(LocalTime local) const {
  const auto moments = moments_of(local);
  if (!moments.empty()) return moments.front();
  // Skipped: the change lies between the readings of both offsets.
  const Instant guess(local.time_since_epoch());
  const Instant early = guess - offset_at(guess + std::chrono::days(1));
  const auto change = std::lower_bound(changes_.begin(), changes_.end(), early,
                                       [](const Change& c, Instant moment) { return c.at < moment; });
  return change == changes_.end() ? early : change->at;
}

}  // namespace setwell::quantity
