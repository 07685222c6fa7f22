#include "daemon/service/forecast_book.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "daemon/core/forecast_heated.hpp"
#include "daemon/core/forecast_hours.hpp"

namespace setwell::service {

using quantity::Instant;
using quantity::MeasuredQuantity;
using quantity::ZoneId;

namespace {

using Quarters = std::chrono::duration<std::int64_t, std::ratio<900>>;
constexpr std::chrono::minutes kLate{1};
/// A forecast that starts from older air than this would be none.
constexpr std::chrono::hours kOldest{48};

/// Whether the zone is on by its newest word; nothing where no channel tells.
std::optional<bool> running(const SensorBook& sensors, const ZoneId& zone) {
  for (const auto& series : sensors.series()) {
    const auto& spec = series.spec();
    if (spec.zone == zone && spec.quantity == MeasuredQuantity::running && series.state.last_value)
      return *series.state.last_value > 0.5;
  }
  return std::nullopt;
}

bool same(double a, float b) {
  return std::isnan(a) ? !std::isfinite(b) : std::fabs(a - static_cast<double>(b)) < 0.0051;
}

/// The first hour from `from` on whose value is no longer what was learned.
template <typename ValueOf>
std::optional<core::HourIndex> changed_hour(const core::HourSeries& series,
                                            const std::optional<Instant>& from, ValueOf value) {
  if (!from || series.empty()) return std::nullopt;
  for (auto hour = std::max(core::hour_at_or_before(*from), series.first()); hour <= series.last(); ++hour) {
    const core::HourValue now = value(hour);
    if (!same(series.value(core::AirQuantity::temperature, hour), now.celsius) ||
        !same(series.value(core::AirQuantity::humidity, hour), now.percent))
      return hour;
  }
  return std::nullopt;
}

core::ForecastAnswer none(std::string why) {
  return {std::nullopt, std::move(why)};
}

}  // namespace

Instant closed_quarter(Instant now) {
  return std::chrono::floor<Quarters>(now - kLate);
}

void ForecastBook::load(const settings::Settings& settings, const ledger::Ledger& ledger) {
  entries_.clear();
  room_.reset();
  quarter_ = {};
  for (const auto& zone : settings.zones) {
    Entry entry;
    if (const auto stored = ledger.forecast_state(zone.id)) {
      if (auto room = core::RoomForecaster::load(*stored)) {
        entry.room = std::move(*room);
        entry.from_nothing = false;
        if (!entry.room.series().empty()) entry.marks.push_back({entry.room.series().last(), entry.room});
      }
    }
    entries_.emplace(zone.id, std::move(entry));
    if (!room_ && zone.kind == settings::ZoneKind::room) room_ = zone.id;
  }
}

void ForecastBook::air_changed(const ZoneId& zone, Instant at) {
  const auto found = entries_.find(zone);
  if (found == entries_.end()) return;
  auto& changed = found->second.changed;
  changed = std::min(changed.value_or(at), at);
}

void ForecastBook::remember(Entry& entry, core::HourIndex hour) {
  if (hour % kMarkedEvery != 0) return;
  entry.marks.push_back({hour, entry.room});
  if (entry.marks.size() <= kMarks) return;
  entry.marks.erase(entry.marks.begin());
  entry.from_nothing = false;
}

void ForecastBook::go_back(Entry& entry, core::HourIndex before) {
  while (!entry.marks.empty() && entry.marks.back().hour >= before)
    entry.marks.pop_back();
  if (!entry.marks.empty()) {
    entry.room = entry.marks.back().room;
  } else if (entry.from_nothing) {
    entry.room = core::RoomForecaster();
  }
}

void ForecastBook::learn(Entry& entry, const quantity::ZoneId& zone, const core::AirHistory& history,
                         ledger::Ledger& ledger) {
  const auto& air = history.temperature();
  if (air.empty()) return;
  const auto value = [&](core::HourIndex hour) { return core::hour_value(air, history.humidity(), hour); };
  const auto first = core::hour_at_or_before(air.front().at) + 1;
  // The record begins earlier than it did: so does the learning.
  if (entry.from_nothing && entry.marks.empty() && !entry.room.series().empty() &&
      first < entry.room.series().first())
    entry.room = core::RoomForecaster();
  const auto differs = changed_hour(entry.room.series(), entry.changed, value);
  entry.changed.reset();
  if (differs) {
    go_back(entry, *differs);
    const auto& kept = entry.room.series();
    for (auto hour = *differs; !kept.empty() && hour <= kept.last(); ++hour)
      entry.room.correct(hour, value(hour));
  }
  const auto& series = entry.room.series();
  const auto last = core::hour_at_or_before(quarter_);
  bool closed = false;
  for (auto hour = series.empty() ? first : series.last() + 1; hour <= last; ++hour) {
    entry.room.take(hour, value(hour));
    remember(entry, hour);
    closed = closed || hour % kStoredEvery == 0;
  }
  if (closed || differs) ledger.set_forecast_state(zone, quarter_, entry.room.save());
}

void ForecastBook::refit(const settings::Settings& settings, const Zones& zones, const SensorBook& sensors,
                         ledger::Ledger& ledger, Instant now) {
  const auto quarter = closed_quarter(now);
  if (quarter <= quarter_) return;
  quarter_ = quarter;
  for (const auto& zone : settings.zones) {
    const auto air = zones.find(zone.id);
    const auto found = entries_.find(zone.id);
    if (air == zones.end() || found == entries_.end()) continue;
    auto& entry = found->second;
    learn(entry, zone.id, air->second.history(), ledger);
    entry.answer.reset();
    entry.heat.reset();
    const auto on = zone.set_point ? running(sensors, zone.id) : std::nullopt;
    if (on) entry.heat = Heat{*zone.set_point, *on};
  }
}

core::ForecastAnswer ForecastBook::issue(const Entry& entry, const core::AirHistory& history) const {
  const auto& air = history.temperature();
  if (air.empty() || entry.room.series().empty())
    return none(air.empty() ? "No forecast: nothing trusted has been heard of this zone's air"
                            : "No forecast yet: it begins with the first full hour of readings");
  const auto old = std::find_if(air.rbegin(), air.rend(),
                                [&](const core::AirPoint& point) { return point.at <= quarter_; });
  if (old == air.rend() || quarter_ - old->at > kOldest)
    return none("No forecast: nothing trusted has been heard of this zone's air for two days");
  const core::HourValue now{core::quarter_value(air, quarter_),
                            core::quarter_value(history.humidity(), quarter_)};
  core::ForecastAnswer answer{entry.room.forecast(quarter_, now), {}};
  if (!answer.forecast) return none("No forecast: nothing trusted has been heard of this zone's air");
  answer.forecast->air_error = old->error;
  if (!history.humidity().empty()) answer.forecast->humidity_error = history.humidity().back().error;
  return answer;
}

core::ForecastAnswer ForecastBook::issue_heated(const Entry& entry, const Zones& zones) {
  const core::Forecast* room = nullptr;
  if (room_) {
    const auto& beside = of(*room_, zones);
    if (beside.forecast) room = &*beside.forecast;
  }
  if (entry.heat->on) return {core::heated_forecast(entry.heat->set_point, room, quarter_), {}};
  if (room == nullptr) return none("No forecast: it is off, and the room it stands in has none");
  core::ForecastAnswer answer{*room, {}};
  answer.forecast->basis.remark = "Off: the air of the room it stands in";
  return answer;
}

const core::ForecastAnswer& ForecastBook::of(const ZoneId& zone, const Zones& zones) {
  static const core::ForecastAnswer kUnknown = none("No forecast: the settings know no such zone");
  const auto found = entries_.find(zone);
  const auto air = zones.find(zone);
  if (found == entries_.end() || air == zones.end()) return kUnknown;
  auto& entry = found->second;
  if (!entry.answer)
    entry.answer = entry.heat ? issue_heated(entry, zones) : issue(entry, air->second.history());
  return *entry.answer;
}

}  // namespace setwell::service
