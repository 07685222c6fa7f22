#include "daemon/core/forecast_heated.hpp"

#include <algorithm>
#include <cmath>

#include "sensors/air/saturation.hpp"

namespace setwell::core {

namespace {

/// A thermostat's swing and its placement: half of the time within ±0.5 K, nine times in ten within ±1.5 K.
constexpr double kOften = 0.5;
constexpr double kNearlyAlways = 1.5;

double percent_at(double vapour_pa, double celsius) {
  return std::clamp(100.0 * vapour_pa / air::water_saturation_pa(celsius), 0.0, 100.0);
}

ForecastPath warmed(const ForecastPath& path, double celsius) {
  ForecastPath out{std::vector<float>(path.air_c.size(), static_cast<float>(celsius)), {}};
  for (std::size_t i = 0; i < path.humidity_pct.size(); ++i) {
    const double vapour = air::vapour_pa(path.air_c[i], std::max<double>(path.humidity_pct[i], 0.5));
    out.humidity_pct.push_back(static_cast<float>(percent_at(vapour, celsius)));
  }
  return out;
}

}  // namespace

Forecast heated_forecast(quantity::Celsius set_point, const Forecast* room, quantity::Instant issued) {
  const double c = set_point.degrees();
  const Band air{c - kNearlyAlways, c - kOften, c, c + kOften, c + kNearlyAlways};
  Forecast out;
  out.issued = issued;
  out.basis.method = ForecastMethod::heated;
  out.basis.wide = false;
  out.basis.learning_since = issued;
  out.basis.remark = "Heated: its set-point for as long as it stays on";
  for (int hour = 0; hour <= kForecastHours; ++hour) {
    ForecastStep step{issued + std::chrono::hours(hour), air, {}, {}};
    const auto beside = room == nullptr ? std::nullopt : step_at(*room, step.at);
    if (beside && beside->vapour_pa) {
      const Band& pa = *beside->vapour_pa;
      step.vapour_pa = pa;
      step.humidity_pct =
          Band{percent_at(pa.p5, air.p95), percent_at(pa.p25, air.p75), percent_at(pa.median, c),
               percent_at(pa.p75, air.p25), percent_at(pa.p95, air.p5)};
    }
    out.steps.push_back(step);
  }
  if (room == nullptr) return out;
  for (const auto& path : room->paths)
    out.paths.push_back(warmed(path, c));
  return out;
}

}  // namespace setwell::core
