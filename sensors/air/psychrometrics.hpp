#pragma once

#include <optional>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/relative_humidity.hpp"

/// Moist air in terms of measured quantities: dew point, frost point, absolute humidity, their sensitivities,
/// and the dew margin of a surface with its error. Equations and sources: saturation.hpp.
///
/// Relative humidity above 100 % (condensing air, a drifting sensor) counts as 100 %; at 0 % there is no dew
/// point. Pure functions, any thread.
namespace setwell::air {

/// Nothing at 0 %.
[[nodiscard]] std::optional<quantity::Celsius> dew_point(quantity::Celsius air,
                                                         quantity::RelativeHumidity humidity);
/// Where hoar forms; nothing unless the dew point is below 0 °C.
[[nodiscard]] std::optional<quantity::Celsius> frost_point(quantity::Celsius air,
                                                           quantity::RelativeHumidity humidity);
/// g/m³.
[[nodiscard]] double absolute_humidity(quantity::Celsius air, quantity::RelativeHumidity humidity);
/// Relative humidity at a surface, e/p_w(T_s), as a ratio; above 1 water condenses on it.
[[nodiscard]] double surface_humidity(quantity::Celsius air, quantity::RelativeHumidity humidity,
                                      quantity::Celsius surface);

/// How the dew point answers to what it is computed from: dTd/dT = L(T)/L(Td), dTd/dφ = 1/(φ L(Td)), with
/// L = d ln p_w/dT.
struct DewPointSlopes {
  double per_kelvin = 0;   ///< K per K of air temperature
  double per_percent = 0;  ///< K per percentage point of relative humidity
};
/// Nothing at 0 %.
[[nodiscard]] std::optional<DewPointSlopes> dew_point_slopes(quantity::Celsius air,
                                                             quantity::RelativeHumidity humidity);

/// Worst-case errors of an air sensor. The defaults are those of a sensor nobody has checked.
struct AirErrors {
  quantity::CelsiusDelta temperature{0.5};
  double humidity_percent = 5.0;
};

/// Error of a dew point to first order, K.
struct DewPointError {
  double from_temperature = 0;
  double from_humidity = 0;
  double root_sum_square = 0;
  double worst_case = 0;  ///< the sum of both
};
/// Nothing at 0 %.
[[nodiscard]] std::optional<DewPointError> dew_point_error(quantity::Celsius air,
                                                           quantity::RelativeHumidity humidity,
                                                           const AirErrors& errors);

/// Where the surface temperature comes from, which decides whether the sensor's error cancels.
enum class SurfaceFrom {
  same_sensor,  ///< the air sensor through the thermal lag: its offset moves surface and dew point together
  separate_probe,  ///< a probe or a hand reading of its own: nothing cancels
};

/// Surface temperature minus dew point, and how much lower it can truly be, at worst, given the errors.
struct DewMargin {
  quantity::CelsiusDelta margin;
  quantity::CelsiusDelta error;  ///< >= 0
};
/// Computed at the unfavourable ends of the errors, not to first order: the dew point rises with temperature
/// and humidity, so the worst case lies at an end. From the same sensor that is an air and surface both
/// colder than measured; apart, a warmer air over a colder surface. `probe_error` counts only for a separate
/// probe. Nothing at 0 %.
[[nodiscard]] std::optional<DewMargin> dew_margin(
    quantity::Celsius air, quantity::RelativeHumidity humidity, quantity::Celsius surface,
    const AirErrors& errors, SurfaceFrom surface_from,
    quantity::CelsiusDelta probe_error = quantity::CelsiusDelta(0.5));

}  // namespace setwell::air
