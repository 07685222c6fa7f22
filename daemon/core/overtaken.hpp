#pragma once

#include <optional>
#include <vector>

#include "daemon/core/forecast.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"
#include "daemon/core/time_model.hpp"

/// How likely the coming air overtakes a coat: its surface under the cure floor, or out of its dew margin,
/// before it is tack-free. Counted on the forecast's paths. Pure.
namespace setwell::core {

/// A coat that is not tack-free yet, as the middle clocks have it.
struct SoftCoat {
  const ClockRates* tack_free = nullptr;  ///< never null; rates in 1/h
  double rate_factor = 1.0;               ///< of film and load
  double progress = 0;                    ///< of the expected clock now
  double surface_c = 0;                   ///< now
  double tau_s = 360;                     ///< the form's lag
  std::optional<double> floor_c;          ///< the floor that the slow clock goes by
  std::optional<double> dew_margin_k;  ///< what the sheet (or the trade) asks for; nothing where neither does
};

/// Below this a chance is not worth telling.
inline constexpr double kLeastChance = 0.05;

/// What may come, with its chance and the middle one of the times at which it would: of kinds under_floor and
/// dew_margin, chances of at least kLeastChance. Empty without paths. What humidity does to the rate of
/// drying is left out here.
[[nodiscard]] std::vector<Trouble> overtaken(const SoftCoat& coat, const Forecast& forecast,
                                             quantity::Instant now);

/// The widest dew margin that a material asks for until it is tack-free, K; nothing where none is asked.
[[nodiscard]] std::optional<double> dew_margin_until_tack_free(const Material& material);

}  // namespace setwell::core
