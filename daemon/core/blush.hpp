#pragma once

#include <optional>
#include <string>

#include "sensors/quantity/instant.hpp"

/// What damp and cold do to a fresh coat. Blush: the greasy or cloudy film of carbamate that free amine,
/// carbon dioxide and water leave on an epoxy that set cool and damp. It weakens the bond of the next coat
/// and is washed off with water.
namespace setwell::core {

/// The weight of an instant in the blush dose, 0 … 1: clamp((a_s - 0.60)/0.25, 0, 1) ·
/// clamp((25 - T_s)/15, 0.2, 1), a_s being the humidity at the surface (a ratio). Counts only for amine
/// epoxies and only until tack-free; the dose is its mean over the time to tack-free, as far as the record
/// tells of it. An ordinal index, no probability.
[[nodiscard]] double blush_weight(double surface_humidity_ratio, double surface_c);
/// Under 0.1 low; over 0.4 high; between, wash and abrade before the next coat.
inline constexpr double kBlushSome = 0.1;
inline constexpr double kBlushHigh = 0.4;
/// From this humidity at the surface on, moisture counts as lying on it whatever the dose.
inline constexpr double kWetSurfaceRatio = 0.98;

/// What to do about it before the next coat goes on, in a sentence without a stop; empty where there is no
/// dose (other families) or it was low and stayed dry.
[[nodiscard]] std::string blush_words(std::optional<double> dose, quantity::Hours condensing);

/// Under its cure floor for longer than this before it was tack-free, a film may never be what the sheet
/// says.
inline constexpr quantity::Hours kColdTooLong{4};
/// Says so, in a sentence without a stop; empty where it was not.
[[nodiscard]] std::string cold_words(quantity::Hours under_floor);

}  // namespace setwell::core
