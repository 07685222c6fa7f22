#include "daemon/core/unfit_air.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/outside.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

const AirPoint* newest(const std::vector<AirPoint>& points, Instant at, quantity::Span lasts) {
  const auto next = std::upper_bound(points.begin(), points.end(), at, measured_after);
  if (next == points.begin() || at - (next - 1)->at > lasts) return nullptr;
  return &*(next - 1);
}

/// What was measured about a surface that has the air's own temperature.
Moment moment_of(const AirHistory& air, const AirPoint& warmth, Instant at) {
  Moment moment{at, warmth.value, {}, {}};
  const auto* damp = newest(air.humidity(), at, air.limits().humidity_silent_after);
  if (damp == nullptr) return moment;
  moment.humidity_percent = damp->value;
  const auto celsius = quantity::Celsius::from(warmth.value);
  const auto humidity = quantity::RelativeHumidity::from_percent(damp->value);
  if (!celsius || !humidity) return moment;
  const quantity::CelsiusDelta error(warmth.error);
  moment.dew = air::dew_margin(*celsius, *humidity, *celsius, {error, damp->error},
                               air::SurfaceFrom::same_sensor, error);
  return moment;
}

bool breaks(const ConditionRule& rule, const Moment& moment) {
  const auto standing = standing_of(rule, moment);
  return standing && standing->outside;
}

/// The first of the unbroken run of readings that break the rule.
Instant since_when(const ConditionRule& rule, const AirHistory& air, Instant from, Instant now) {
  Instant since = now;
  const auto& points = air.temperature();
  for (auto point = points.rbegin(); point != points.rend() && point->at >= from; ++point) {
    if (point->at > now) continue;
    if (since - point->at > air.limits().temperature_silent_after) break;
    if (!breaks(rule, moment_of(air, *point, point->at))) break;
    since = point->at;
  }
  return since;
}

void keep_stricter(std::vector<OutsideCondition>& all, const ConditionRule& rule, OutsideCondition fresh) {
  const auto same = std::find_if(all.begin(), all.end(),
                                 [&](const OutsideCondition& each) { return each.what == fresh.what; });
  if (same == all.end()) {
    all.push_back(std::move(fresh));
  } else if (worse(rule, same->limit, fresh.limit)) {
    *same = std::move(fresh);
  }
}

std::string figure(double value, const std::string& unit, const Display& display) {
  if (unit == "%") return fmt::format("{:.0f} %", value);
  if (unit == "K") return show(quantity::CelsiusDelta(value), display);
  const auto celsius = quantity::Celsius::from(value);
  return celsius ? show(*celsius, display) : fmt::format("{} {}", value, unit);
}

}  // namespace

std::vector<OutsideCondition> unfit_air(const Material& top, const AirHistory& air, const Outlook& piece,
                                        Instant from, Instant now) {
  std::vector<OutsideCondition> found;
  const auto* warmth = newest(air.temperature(), now, air.limits().temperature_silent_after);
  if (warmth == nullptr) return found;
  Moment present = moment_of(air, *warmth, now);
  if (piece.dew_margin_k && piece.dew_margin_error_k) {
    present.dew = air::DewMargin{quantity::CelsiusDelta(*piece.dew_margin_k),
                                 quantity::CelsiusDelta(*piece.dew_margin_error_k)};
  }
  for (const ConditionRule& rule : conditions_of(top, now, now)) {
    if (!rule.is_limit || !breaks(rule, present)) continue;
    OutsideCondition outside =
        told(rule, standing_of(rule, present)->value, since_when(rule, air, from, now));
    outside.what += " for the next coat";
    outside.next_coat = true;
    keep_stricter(found, rule, std::move(outside));
  }
  return found;
}

std::string unfit_words(const std::vector<OutsideCondition>& unfit, const Display& display) {
  std::string text;
  for (const OutsideCondition& each : unfit) {
    text += fmt::format("{}{}: {}, the sheet's limit is {}", text.empty() ? "" : "; ", each.what,
                        figure(each.value, each.unit, display), figure(each.limit, each.unit, display));
  }
  return text;
}

}  // namespace setwell::core
