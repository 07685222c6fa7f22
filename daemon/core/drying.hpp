#pragma once

#include <optional>

#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"

/// What humidity and film thickness do to the rate of a clock, as factors on the rates of a TimeModel.
///
/// All factors are relative to the stated row: 1 at the sheet's own humidity and film at every temperature,
/// so temperature, which the table or the prior already carries, is not counted twice. slow <= expected <=
/// fast always. Doubles are °C, Pa, per cent and µm as named. Pure functions, any thread.
///
/// Water-borne: the driving force D = p_w(T_s) - e, relative to that of the row at the same surface
/// temperature, is h = (1 - a_s)/(1 - φ_ref), a_s = e/p_w(T_s) being the humidity at the surface. It holds
/// only while drying goes at a constant rate; later, films dry almost alike up to 80 %. So the slow factor is
/// min(h, 1), no credit for dry air, and the fast one max(h, clamp((1 - φ)/0.2, 0, 1)). h is 0 where water
/// condenses.
///
/// Moisture-curing: (c/c_ref)^m, c the absolute humidity, c_ref that of the row at the same temperature
/// (where air and surface differ: the warmer for the slow clock, the colder for the fast one); m = 1 for
/// reaction- and front-limited cure, and any m in [0.5, 1] is covered pointwise.
///
/// Everything else: 1; evaporating solvents follow Clausius–Clapeyron, which is the temperature's
/// (`priors_for`).
namespace setwell::core {

/// Multiplies the three rates of a clock.
struct RateFactors {
  double slow = 1.0;
  double expected = 1.0;
  double fast = 1.0;
  friend bool operator==(const RateFactors&, const RateFactors&) = default;
};
[[nodiscard]] inline RateFactors operator*(const RateFactors& a, const RateFactors& b) {
  return {a.slow * b.slow, a.expected * b.expected, a.fast * b.fast};
}

/// Relative humidity within bounds, %.
struct HumidityBounds {
  double least = 0;
  double middle = 0;
  double most = 0;
};
/// What is assumed where a zone never had a humidity reading: workshop air from dry heating to the damp end
/// at which coating is still allowed. The basis is then `assumed`.
inline constexpr HumidityBounds kUnknownHumidity{20.0, 50.0, 85.0};
/// A reading with its worst-case error, kept within 0 … 100 %.
[[nodiscard]] HumidityBounds humidity_within(double rh_percent, double error_percent);

/// The air about a piece at one instant. `surface_c` and `air_c` hold the same sensor error in the same
/// place: the slow surface beside the air that led to it. Over a silence: the envelope's ends.
struct AirAtPiece {
  Bounded<double> surface_c;
  Bounded<double> air_c;
  HumidityBounds humidity;
  /// How much warmer or colder the humidity's place may be than the piece's (the placement part of the
  /// error).
  double apart_k = 0.5;
};

/// The humidity factors of a family at one instant. `reference` is the sheet's humidity; 50 % where it states
/// none. Costs three exponentials for water-borne and moisture-curing materials, nothing for others.
[[nodiscard]] RateFactors humidity_factors(Family family, const AirAtPiece& air,
                                           std::optional<quantity::RelativeHumidity> reference);
/// Whether `humidity_factors` is ever anything but 1.
[[nodiscard]] bool humidity_matters(Family family);

/// The film factors of one coat; 1 where either film is unknown.
///
/// Evaporating, oxygen- and moisture-hardened films take r^1 to r^2 as long, r = film / reference within
/// [0.25, 4]: a thicker one runs the slow clock at r^-2, the expected at r^-1.5 and never relieves the fast
/// one; a thinner one speeds the expected at r^-1 and the fast at r^-2, and never the slow.
///
/// Reactive ones (epoxy, urethane) are slower when *thinner* than the sheet's test, for want of their own
/// heat. A layer of depth d takes g(d) = max(0.2, 1/(1 + (d/d0)²)) of its isothermal time; d0 = 6.5 mm lies
/// on the safe side of a heat balance of a system with 90 minutes of pot life (layers of 3, 5, 10, 40 mm take
/// 0.83, 0.69, 0.33, 0.20 of it), and d0 = 2.7 mm is the same scaled to one with 30 minutes. The slow clock
/// of a thinner film runs at the least g(reference)/g(film) of any d0 between the two, the expected at that
/// of the larger; the fast clock of a thicker film at the greatest. Neither end of d0 is always the worst:
/// at 2.7 mm two deep layers both have the least share, and would be told alike. Tests below half a
/// millimetre are thereby left alone.
///
/// Light-cured ones ask for r^1 to r^2 as many minutes of lamp when thicker, like evaporating ones, since
/// light falls off with depth; a thinner one speeds the fast clock alone, at r^-1.
[[nodiscard]] RateFactors film_factors(Family family, std::optional<quantity::Micrometres> film,
                                       std::optional<quantity::Micrometres> reference);

/// Whether a coat's slow clocks stop when it is covered: films that dry by giving off or taking up something
/// through their surface.
[[nodiscard]] bool dries_through_surface(Family family);

/// Below this, moisture-curing materials are flagged `too dry`, g/m³.
inline constexpr double kTooDryGramsPerCubicMetre = 4.0;

enum class Film { set, flashing };
/// The least surface minus dew point where the sheet states none: 3 K (ISO 8502-4 as trade guides quote it).
/// While solvent or water flashes off it cools the film below the piece: 11 K for lacquers, whose sprays
/// chill themselves by up to that much by practitioners' accounts, 5 K for other films that dry through their
/// surface (a judgement). Clocks take no chill: the film of the sheet's own test chilled itself just as much.
[[nodiscard]] quantity::CelsiusDelta least_dew_margin(Family family, Film film);

/// Water vapour's driving force at a surface, p_w(T_s) - φ p_w(T_a), Pa; negative when water condenses.
[[nodiscard]] double drying_force_pa(double surface_c, double air_c, double rh_percent);
/// The driving force relative to air and surface at a reference, clipped at 0.
[[nodiscard]] double drying_factor(double surface_c, double air_c, double rh_percent, double reference_c,
                                   double reference_rh_percent);
/// Absolute humidity relative to a reference.
[[nodiscard]] double moisture_ratio(double air_c, double rh_percent, double reference_c,
                                    double reference_rh_percent);
/// Nominal heat of evaporation of coating solvents, kJ/mol.
inline constexpr double kSolventEnergy = 38.0;

}  // namespace setwell::core
