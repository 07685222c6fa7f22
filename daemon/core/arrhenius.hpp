#pragma once

/// The Arrhenius law and what it says of rates: E in kJ/mol, temperatures in °C. Pure, any thread.
namespace setwell::core {

/// kJ/(mol K).
inline constexpr double kGasConstantKj = 0.008314462618;

/// x = 1/(RT), mol/kJ; ln t rises by E·Δx.
[[nodiscard]] double inverse_rt(double celsius);
/// k(T)/k(T_ref) = exp(-(E/R)(1/T - 1/T_ref)).
[[nodiscard]] double rate_factor(double energy, double celsius, double reference_c);
/// d ln k/dT = E/(R T²), 1/K.
[[nodiscard]] double rate_slope(double energy, double celsius);
/// The factor on the rate from `celsius` to 10 K above.
[[nodiscard]] double factor_per_ten_kelvin(double energy, double celsius);
/// The energy that makes a rate `factor` times as fast at `warm_c` as at `cold_c`; the two must differ.
[[nodiscard]] double energy_from_factor(double factor, double cold_c, double warm_c);

/// An interval of energies, low <= high.
struct EnergyRange {
  double low = 0;
  double high = 0;
};
/// The slowest the rate factor can be for any energy in the range, pointwise: the low end above the
/// reference, the high end below it.
[[nodiscard]] double slowest_rate_factor(EnergyRange energy, double celsius, double reference_c);
/// Likewise the fastest.
[[nodiscard]] double fastest_rate_factor(EnergyRange energy, double celsius, double reference_c);

}  // namespace setwell::core
