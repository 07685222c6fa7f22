#include "sensors/air/psychrometrics.hpp"

#include <algorithm>
#include <cmath>

#include "sensors/air/saturation.hpp"

namespace setwell::air {

using quantity::Celsius;
using quantity::CelsiusDelta;
using quantity::RelativeHumidity;

namespace {

double percent_of(RelativeHumidity humidity) {
  return humidity.for_air() * 100.0;
}

std::optional<Celsius> known(std::optional<double> celsius) {
  if (!celsius) return std::nullopt;
  return Celsius::from(*celsius);
}

}  // namespace

std::optional<Celsius> dew_point(Celsius air, RelativeHumidity humidity) {
  return known(dew_point_c(vapour_pa(air.degrees(), percent_of(humidity))));
}

std::optional<Celsius> frost_point(Celsius air, RelativeHumidity humidity) {
  const double pressure = vapour_pa(air.degrees(), percent_of(humidity));
  const std::optional<double> dew = dew_point_c(pressure);
  if (!dew || *dew >= 0.0) return std::nullopt;
  return known(frost_point_c(pressure));
}

double absolute_humidity(Celsius air, RelativeHumidity humidity) {
  return absolute_humidity_g_m3(air.degrees(), percent_of(humidity));
}

double surface_humidity(Celsius air, RelativeHumidity humidity, Celsius surface) {
  return vapour_pa(air.degrees(), percent_of(humidity)) / water_saturation_pa(surface.degrees());
}

std::optional<DewPointSlopes> dew_point_slopes(Celsius air, RelativeHumidity humidity) {
  const double percent = percent_of(humidity);
  const std::optional<double> dew = dew_point_c(vapour_pa(air.degrees(), percent));
  if (!dew) return std::nullopt;
  const double at_dew = water_saturation_slope(*dew);
  return DewPointSlopes{water_saturation_slope(air.degrees()) / at_dew, 1.0 / (percent * at_dew)};
}

std::optional<DewPointError> dew_point_error(Celsius air, RelativeHumidity humidity,
                                             const AirErrors& errors) {
  const std::optional<DewPointSlopes> slopes = dew_point_slopes(air, humidity);
  if (!slopes) return std::nullopt;
  DewPointError error;
  error.from_temperature = slopes->per_kelvin * std::fabs(errors.temperature.kelvin());
  error.from_humidity = slopes->per_percent * std::fabs(errors.humidity_percent);
  error.root_sum_square = std::hypot(error.from_temperature, error.from_humidity);
  error.worst_case = error.from_temperature + error.from_humidity;
  return error;
}

std::optional<DewMargin> dew_margin(Celsius air, RelativeHumidity humidity, Celsius surface,
                                    const AirErrors& errors, SurfaceFrom surface_from,
                                    CelsiusDelta probe_error) {
  const double percent = percent_of(humidity);
  const std::optional<double> dew = dew_point_c(vapour_pa(air.degrees(), percent));
  if (!dew) return std::nullopt;
  const bool shared = surface_from == SurfaceFrom::same_sensor;
  const double off = std::fabs(errors.temperature.kelvin());
  const double surface_off = shared ? off : std::fabs(probe_error.kelvin());
  const double air_at_worst = air.degrees() + (shared ? -off : off);
  const double damp = std::min(100.0, percent + std::fabs(errors.humidity_percent));
  const std::optional<double> dew_at_worst = dew_point_c(vapour_pa(air_at_worst, damp));
  if (!dew_at_worst) return std::nullopt;
  const double error = surface_off + *dew_at_worst - *dew;
  return DewMargin{CelsiusDelta(surface.degrees() - *dew), CelsiusDelta(std::max(0.0, error))};
}

}  // namespace setwell::air
