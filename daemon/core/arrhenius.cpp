#include "daemon/core/arrhenius.hpp"

#include <cmath>

namespace setwell::core {
namespace {

double kelvin(double celsius) {
  return celsius + 273.15;
}

}  // namespace

double inverse_rt(double celsius) {
  return 1.0 / (kGasConstantKj * kelvin(celsius));
}

double rate_factor(double energy, double celsius, double reference_c) {
  // One fraction for 1/T - 1/T_ref keeps the digits that a difference of two would lose near the reference.
  const double difference = (reference_c - celsius) / (kelvin(celsius) * kelvin(reference_c));
  return std::exp(-energy / kGasConstantKj * difference);
}

double rate_slope(double energy, double celsius) {
  return energy / (kGasConstantKj * kelvin(celsius) * kelvin(celsius));
}

double factor_per_ten_kelvin(double energy, double celsius) {
  return rate_factor(energy, celsius + 10.0, celsius);
}

double energy_from_factor(double factor, double cold_c, double warm_c) {
  const double difference = (warm_c - cold_c) / (kelvin(cold_c) * kelvin(warm_c));
  return kGasConstantKj * std::log(factor) / difference;
}

double slowest_rate_factor(EnergyRange energy, double celsius, double reference_c) {
  return rate_factor(celsius >= reference_c ? energy.low : energy.high, celsius, reference_c);
}

double fastest_rate_factor(EnergyRange energy, double celsius, double reference_c) {
  return rate_factor(celsius >= reference_c ? energy.high : energy.low, celsius, reference_c);
}

}  // namespace setwell::core
