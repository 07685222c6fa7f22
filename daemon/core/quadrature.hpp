#pragma once

#include <cmath>
#include <utility>

/// Integrals of a rate over a temperature path, exact enough that the quadrature never shows.
namespace setwell::core {

/// Abscissae and weights of the 5-point Gauss–Legendre rule on [0, 1].
inline constexpr double kGauss5At[5] = {0.046910077030668003601, 0.23076534494715845448, 0.5,
                                        0.76923465505284154552, 0.95308992296933199640};
inline constexpr double kGauss5Weight[5] = {0.11846344252809454376, 0.23931433524968323402,
                                            0.28444444444444444444, 0.23931433524968323402,
                                            0.11846344252809454376};
/// A sub-piece spans at most this many kelvin; then the rule is good to 1e-12 for energies up to 95 kJ/mol.
inline constexpr double kWidestSubPieceKelvin = 5.0;

/// ∫ f(u) du over [a, b] by one application of the rule. `f` must be smooth inside.
template <typename F>
[[nodiscard]] double gauss5(double a, double b, F&& f) {
  double sum = 0.0;
  for (int i = 0; i < 5; ++i)
    sum += kGauss5Weight[i] * f(a + (b - a) * kGauss5At[i]);
  return sum * (b - a);
}

/// ∫ rate(T(t)) dt where T goes linearly from `t0` to `t1` within `duration`; split where it spans more than
/// kWidestSubPieceKelvin. Kinks of `rate` inside are the caller's to split at (`split_at`). Same unit of time
/// as `duration`.
template <typename Rate>
[[nodiscard]] double integrate_linear(double t0, double t1, double duration, Rate&& rate) {
  const int parts = 1 + static_cast<int>(std::fabs(t1 - t0) / kWidestSubPieceKelvin);
  double sum = 0.0;
  for (int i = 0; i < parts; ++i) {
    const double a = static_cast<double>(i) / parts;
    const double b = static_cast<double>(i + 1) / parts;
    sum += gauss5(a, b, [&](double u) { return rate(t0 + (t1 - t0) * u); });
  }
  return sum * duration;
}

}  // namespace setwell::core
