#pragma once

#include <optional>

/// The plain-number layer under psychrometrics.hpp: °C, Pa and per cent as doubles, for inner loops.
///
/// Saturation pressure is Sonntag's (Z. Meteorol. 70 (1990) 340–344), one pair of formulas valid from -100 to
/// 100 °C: ln p_w = -6096.9385/T + 21.2409642 - 2.711193e-2 T + 1.673952e-5 T² + 2.433502 ln T over liquid
/// water, ln p_i = -6024.5282/T + 29.32707 + 1.0613868e-2 T - 1.3198825e-5 T² - 0.49382577 ln T over ice; T
/// in K, p in Pa. Hygrometers state relative humidity over liquid water below 0 °C too (WMO), so p_w serves
/// for every vapour pressure and ice only for the frost point. The enhancement factor of moist air cancels in
/// humidity and dew point and is left out.
namespace setwell::air {

/// The molar gas constant, J/(mol K).
inline constexpr double kGasConstant = 8.314462618;
/// Molar mass of water, kg/mol.
inline constexpr double kWaterMolarMass = 0.01801528;

/// Over liquid water, Pa. Any temperature above absolute zero.
[[nodiscard]] double water_saturation_pa(double celsius);
/// Over ice, Pa; meaningful up to the triple point, 0.01 °C.
[[nodiscard]] double ice_saturation_pa(double celsius);
/// d ln p_w / dT over liquid water, 1/K (0.062 at 20 °C).
[[nodiscard]] double water_saturation_slope(double celsius);

/// Vapour pressure of air at a relative humidity in per cent, Pa. Above 100 % counts as 100 %.
[[nodiscard]] double vapour_pa(double air_c, double rh_percent);
/// The temperature at which water would condense from a vapour pressure: Newton on ln p_w, to 1e-12 K.
/// Nothing for a pressure that is not positive.
[[nodiscard]] std::optional<double> dew_point_c(double vapour_pressure_pa);
/// Likewise over ice.
[[nodiscard]] std::optional<double> frost_point_c(double vapour_pressure_pa);
/// Mass of water vapour in g/m³ by the ideal gas law.
[[nodiscard]] double absolute_humidity_g_m3(double air_c, double rh_percent);

}  // namespace setwell::air
