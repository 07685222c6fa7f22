#include "daemon/service/air_view.hpp"

#include <algorithm>
#include <chrono>

#include "daemon/api/from_core.hpp"
#include "daemon/core/outside.hpp"
#include "daemon/service/forecast_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/zone_view.hpp"
#include "sensors/air/psychrometrics.hpp"

namespace setwell::service {

using quantity::Instant;

namespace {

constexpr std::chrono::hours kForetold{core::kForecastHours};

api::AirHour hour_of(const core::AirHistory& history, Instant from, Instant to,
                     const quantity::TimeZone& zone) {
  api::AirHour hour;
  hour.from = api::time_text(from, zone);
  double sum = 0;
  int count = 0;
  for (const auto& point : history.temperature()) {
    if (point.at < from || point.at >= to) continue;
    hour.least_c = std::min(hour.least_c.value_or(point.value), point.value);
    hour.most_c = std::max(hour.most_c.value_or(point.value), point.value);
    sum += point.value;
    ++count;
  }
  if (count > 0) hour.mean_c = sum / count;
  double humidity = 0;
  int humid = 0;
  for (const auto& point : history.humidity()) {
    if (point.at < from || point.at >= to) continue;
    humidity += point.value;
    ++humid;
  }
  if (humid > 0) hour.mean_pct = humidity / humid;
  if (hour.mean_c && hour.mean_pct) hour.dew_margin_k = air_margin(*hour.mean_c, *hour.mean_pct);
  const auto upto = history.recorded_upto();
  if (!upto || from >= *upto) {
    hour.silent = count == 0;
    return hour;
  }
  for (const auto& piece : history.pieces(from, std::min(to, *upto)))
    hour.silent = hour.silent || piece.temperature.silent;
  return hour;
}

std::optional<double> margin_error(const Workshop& workshop, const api::ZoneNow& now) {
  const auto zone = workshop.zones.find(quantity::ZoneId(now.zone));
  if (zone == workshop.zones.end() || !now.air_c || !now.humidity_pct) return std::nullopt;
  const auto& history = zone->second.history();
  const auto rh = quantity::RelativeHumidity::from_percent(*now.humidity_pct);
  if (!rh || history.temperature().empty() || history.humidity().empty()) return std::nullopt;
  const auto error = air::dew_point_error(
      quantity::Celsius(*now.air_c), *rh,
      {quantity::CelsiusDelta(history.temperature().back().error), history.humidity().back().error});
  if (!error) return std::nullopt;
  return error->worst_case;
}

bool in_force(const core::ConditionRule& rule, const core::Outlook& outlook, Instant now) {
  const auto before = [&](core::Milestone milestone) {
    const auto* clock = outlook.clock(milestone);
    return clock != nullptr && !clock->reached.slow;
  };
  if (rule.ends == core::PhaseEnd::at_a_time) return now < rule.to;
  return before(rule.ends == core::PhaseEnd::tack_free ? core::Milestone::tack_free
                                                       : core::Milestone::flash_off_over);
}

/// Coats that ask the same are named together.
void add_limit(std::vector<api::AirLimit>& limits, const std::string& what, double value,
               const std::string& unit, const std::string& piece) {
  const auto same = std::find_if(limits.begin(), limits.end(), [&](const api::AirLimit& each) {
    return each.what == what && each.value == value;
  });
  if (same == limits.end()) {
    limits.push_back({what, value, unit, {piece}});
  } else if (std::find(same->pieces.begin(), same->pieces.end(), piece) == same->pieces.end()) {
    same->pieces.push_back(piece);
  }
}

std::vector<api::AirLimit> limits_in(Workshop& workshop, const quantity::ZoneId& id, Instant now) {
  std::vector<api::AirLimit> limits;
  for (const auto& [entry, tracked] : workshop.coats.coats()) {
    const auto& coat = *tracked.coat;
    const auto* piece = workshop.book.workbook().in_progress(tracked.piece);
    if (coat.covered || piece == nullptr || zone_of(*piece, now) != id) continue;
    const auto& outlook = workshop.coats.outlook(entry, workshop.zones, workshop.forecasts, now);
    const auto* cured = outlook.clock(core::Milestone::full_cure);
    if (coat.material->cure_floor && (cured == nullptr || !cured->reached.slow))
      add_limit(limits, "cure stops below", coat.material->cure_floor->degrees(), "degC", piece->id.text());
    for (const auto& rule :
         core::conditions_of(*coat.material, coat.coat.made.first_pass, coat.coat.made.last_pass)) {
      const bool tells = rule.is_limit || rule.kind == core::ConditionKind::dew_margin;
      if (!tells || !in_force(rule, outlook, now)) continue;
      const auto words = core::told(rule, 0, now);
      add_limit(limits, words.what, rule.bound, words.unit, piece->id.text());
    }
  }
  return limits;
}

std::vector<api::AirStretch> nights_in(const Workshop& workshop, Instant from, Instant until) {
  const auto& zone = workshop.settings->workshop.time_zone;
  const auto hours = waking_of(*workshop.settings);
  std::vector<api::AirStretch> nights;
  for (auto at = from; at < until;) {
    const auto wakes = core::next_waking(hours, zone, at).value_or(until);
    if (wakes > at)
      nights.push_back({api::time_text(at, zone), api::time_text(std::min(wakes, until), zone)});
    at = core::waking_ends(hours, zone, wakes).value_or(until);
  }
  return nights;
}

}  // namespace

api::AirZone air_zone(Workshop& workshop, const quantity::ZoneId& id, Instant now) {
  api::AirZone shown;
  shown.now = zone_now(workshop, id, now);
  shown.dew_margin_error_k = margin_error(workshop, shown.now);
  shown.ahead = ahead_in(workshop, id);
  shown.forecast = forecast_now(workshop, id);
  shown.limits = limits_in(workshop, id, now);
  const auto zone = workshop.zones.find(id);
  if (zone == workshop.zones.end()) return shown;
  const auto hour = std::chrono::floor<std::chrono::hours>(now);
  for (int back = 23; back >= 0; --back) {
    const Instant from = hour - std::chrono::hours(back);
    shown.last_day.push_back(hour_of(zone->second.history(), from, from + std::chrono::hours(1),
                                     workshop.settings->workshop.time_zone));
  }
  shown.nights = nights_in(workshop, hour - std::chrono::hours(23), now + kForetold);
  return shown;
}

}  // namespace setwell::service
