#include "sensors/air/saturation.hpp"

#include <algorithm>
#include <cmath>

namespace setwell::air {
namespace {

constexpr double kIceToKelvin = 273.15;

double ln_water(double kelvin) {
  return -6096.9385 / kelvin + 21.2409642 - 2.711193e-2 * kelvin + 1.673952e-5 * kelvin * kelvin +
         2.433502 * std::log(kelvin);
}

double water_slope(double kelvin) {
  return 6096.9385 / (kelvin * kelvin) - 2.711193e-2 + 2.0 * 1.673952e-5 * kelvin + 2.433502 / kelvin;
}

double ln_ice(double kelvin) {
  return -6024.5282 / kelvin + 29.32707 + 1.0613868e-2 * kelvin - 1.3198825e-5 * kelvin * kelvin -
         0.49382577 * std::log(kelvin);
}

double ice_slope(double kelvin) {
  return 6024.5282 / (kelvin * kelvin) + 1.0613868e-2 - 2.0 * 1.3198825e-5 * kelvin - 0.49382577 / kelvin;
}

/// ln p is concave in T, so Newton closes in from any side; eight rounds leave nothing even from -100 °C.
template <typename Ln, typename Slope>
std::optional<double> invert(double pa, Ln ln, Slope slope) {
  if (!(pa > 0.0) || !std::isfinite(pa)) return std::nullopt;
  const double y = std::log(pa / 611.2);  // Magnus gives the start
  double kelvin = kIceToKelvin + 243.12 * y / (17.62 - std::min(y, 8.0));
  kelvin = std::max(kelvin, 100.0);
  for (int i = 0; i < 8; ++i)
    kelvin = std::max(50.0, kelvin - (ln(kelvin) - std::log(pa)) / slope(kelvin));
  return kelvin - kIceToKelvin;
}

}  // namespace

double water_saturation_pa(double celsius) {
  return std::exp(ln_water(celsius + kIceToKelvin));
}

double ice_saturation_pa(double celsius) {
  return std::exp(ln_ice(celsius + kIceToKelvin));
}

double water_saturation_slope(double celsius) {
  return water_slope(celsius + kIceToKelvin);
}

double vapour_pa(double air_c, double rh_percent) {
  return std::clamp(rh_percent, 0.0, 100.0) / 100.0 * water_saturation_pa(air_c);
}

std::optional<double> dew_point_c(double vapour_pressure_pa) {
  return invert(vapour_pressure_pa, ln_water, water_slope);
}

std::optional<double> frost_point_c(double vapour_pressure_pa) {
  return invert(vapour_pressure_pa, ln_ice, ice_slope);
}

double absolute_humidity_g_m3(double air_c, double rh_percent) {
  const double per_kilogram = kGasConstant / kWaterMolarMass;
  return 1000.0 * vapour_pa(air_c, rh_percent) / (per_kilogram * (air_c + kIceToKelvin));
}

}  // namespace setwell::air
