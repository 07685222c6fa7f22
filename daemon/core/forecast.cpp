#include "daemon/core/forecast.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace setwell::core {

using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;

namespace {

Band between(const Band& a, const Band& b, double f) {
  const auto mix = [f](double x, double y) { return x + (y - x) * f; };
  return {mix(a.p5, b.p5), mix(a.p25, b.p25), mix(a.median, b.median), mix(a.p75, b.p75), mix(a.p95, b.p95)};
}

std::optional<Band> between(const std::optional<Band>& a, const std::optional<Band>& b, double f) {
  if (!a || !b) return std::nullopt;
  return between(*a, *b, f);
}

/// `band` with the spread of `wide` where that is wider.
Band at_least_as_wide(const Band& band, const Band& wide) {
  const double m = band.median;
  return {std::min(band.p5, m + wide.p5 - wide.median), std::min(band.p25, m + wide.p25 - wide.median), m,
          std::max(band.p75, m + wide.p75 - wide.median), std::max(band.p95, m + wide.p95 - wide.median)};
}

void widen(std::optional<Band>& band, const std::optional<Band>& wide, double most) {
  if (!band || !wide) return;
  band = at_least_as_wide(*band, *wide);
  for (double* value : {&band->p5, &band->p25, &band->p75, &band->p95})
    *value = std::clamp(*value, 0.0, most);
}

/// Where a moment lies among the steps: between step `index` and the next, `f` of the way.
struct Place {
  std::size_t index = 0;
  double f = 0;
};

Place place_of(const Forecast& forecast, Instant at) {
  const double h = std::max(0.0, quantity::hours_between(forecast.issued, at).count());
  const auto last = forecast.steps.size() - 1;
  const auto index = std::min(static_cast<std::size_t>(h), last);
  return {index, index == last ? 0.0 : h - static_cast<double>(index)};
}

Stretch bounded(const Band& band, double error, double least, double most) {
  Stretch s;
  s.foretold = true;
  s.least = std::clamp(band.p5 - error, least, most);
  s.middle = std::clamp(band.median, least, most);
  s.most = std::clamp(band.p95 + error, least, most);
  return s;
}

double value_at(const std::vector<float>& values, const Place& place) {
  const double here = values[place.index];
  return place.f == 0.0 ? here : here + (values[place.index + 1] - here) * place.f;
}

Stretch along(const std::vector<float>& values, const Place& from, const Place& to) {
  Stretch s;
  s.from = value_at(values, from);
  s.to = value_at(values, to);
  return s;
}

}  // namespace

std::string_view word(ForecastMethod method) {
  switch (method) {
    case ForecastMethod::heated:
      return "heated";
    case ForecastMethod::naive:
      return "naive";
    case ForecastMethod::blend:
      return "blend";
  }
  return "";
}

std::optional<ForecastStep> step_at(const Forecast& forecast, Instant at) {
  if (forecast.steps.empty()) return std::nullopt;
  const auto& last = forecast.steps.back();
  if (at > last.at) {
    const auto back = std::chrono::ceil<days>(at - last.at);
    auto step = step_at(forecast, at - back);
    step->at = at;
    step->air_c = at_least_as_wide(step->air_c, last.air_c);
    widen(step->humidity_pct, last.humidity_pct, 100.0);
    widen(step->vapour_pa, last.vapour_pa, 1e5);
    return step;
  }
  const auto place = place_of(forecast, at);
  ForecastStep step = forecast.steps[place.index];
  step.at = at;
  if (place.f == 0.0) return step;
  const auto& next = forecast.steps[place.index + 1];
  step.air_c = between(step.air_c, next.air_c, place.f);
  step.humidity_pct = between(step.humidity_pct, next.humidity_pct, place.f);
  step.vapour_pa = between(step.vapour_pa, next.vapour_pa, place.f);
  return step;
}

std::optional<AirPiece> foretold(const Forecast& forecast, Instant from, Instant to) {
  const auto step = step_at(forecast, from + (to - from) / 2);
  if (!step) return std::nullopt;
  AirPiece piece{from, to, bounded(step->air_c, forecast.air_error, -60.0, 120.0), std::nullopt};
  piece.temperature.error = forecast.air_error;
  if (step->humidity_pct) {
    piece.humidity = bounded(*step->humidity_pct, forecast.humidity_error, 0.0, 100.0);
    piece.humidity->error = forecast.humidity_error;
  }
  return piece;
}

std::optional<AirPiece> foretold_along(const Forecast& forecast, const ForecastPath& path, Instant from,
                                       Instant to) {
  if (path.air_c.size() != forecast.steps.size() || forecast.steps.empty()) return std::nullopt;
  if (to > forecast.steps.back().at) return std::nullopt;
  const auto begin = place_of(forecast, from);
  const auto end = place_of(forecast, to);
  AirPiece piece{from, to, along(path.air_c, begin, end), std::nullopt};
  if (path.humidity_pct.size() == path.air_c.size()) piece.humidity = along(path.humidity_pct, begin, end);
  return piece;
}

std::optional<ForecastStep> coldest(const Forecast& forecast, Instant from, Instant to) {
  const ForecastStep* found = nullptr;
  for (const auto& step : forecast.steps) {
    if (step.at < from || step.at >= to) continue;
    if (found == nullptr || step.air_c.median < found->air_c.median) found = &step;
  }
  return found == nullptr ? std::nullopt : std::optional(*found);
}

}  // namespace setwell::core
