#pragma once

#include <optional>

#include "daemon/core/coat_state.hpp"
#include "daemon/core/drying.hpp"
#include "daemon/core/surface.hpp"

/// Inside CoatRun: a part of a piece of air over which nothing begins or ends, beside the coat's surface.
namespace setwell::core {

struct Leg {
  quantity::Instant from, to;
  AirLine air;
  SurfaceSections sections;
  Family family = Family::epoxy;
  std::optional<quantity::RelativeHumidity> reference_humidity;
  bool humidity_matters = false;
  HumidityBounds humidity_from = kUnknownHumidity, humidity_to = kUnknownHumidity;
  bool slow_runs = false, expected_runs = false;
  bool blind = false;             ///< over a silence, open or ended, with no measured surface instead
  bool humidity_blind = false;    ///< likewise of humidity, where it matters
  bool humidity_assumed = false;  ///< the zone never had any, and it matters
  bool probe = false;             ///< the surface was measured
  double probe_error = 0;

  [[nodiscard]] double seconds() const { return quantity::Seconds(to - from).count(); }
  [[nodiscard]] bool runs(Track track) const {
    if (track == Track::fast) return true;
    return track == Track::slow ? slow_runs : expected_runs;
  }
  /// The bounds of the surface, `s` from the section's start; in order whatever rounding did.
  [[nodiscard]] Surface surface_at(const SurfaceSection& section, double s) const;
  /// What humidity does to the rates, `s` from the leg's start.
  [[nodiscard]] RateFactors factors(const Surface& surface, double s) const;
};

/// The leg [from, to) of `piece`, beginning at the surface that `numbers` hold (and setting it at the start).
[[nodiscard]] Leg leg_of(const CoatCase& coat, const CoatPlan& plan, CoatNumbers& numbers,
                         const AirPiece& piece, const SurfaceSource& surface, quantity::Instant from,
                         quantity::Instant to);

/// Carries every clock over the leg. Answers the surface at its end.
[[nodiscard]] Surface run_leg(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg,
                              Closeness closeness);

/// The value of a stretch at a moment of its piece, only where it was measured.
[[nodiscard]] std::optional<double> measured_at(const Stretch& stretch, const AirPiece& piece,
                                                quantity::Instant at);

/// The dew margin at the lower bound of the surface that the lag leads to; nothing over a silence.
[[nodiscard]] std::optional<air::DewMargin> dew_margin_at(const AirPiece& piece, quantity::Instant at,
                                                          const Surface& surface,
                                                          const std::optional<double>& probe_error);

/// The measured surface that holds from a moment on, if any: by the place's channel, else by hand.
[[nodiscard]] std::optional<MeasuredSurface> measured_surface(const CoatCase& coat,
                                                              const SurfaceSource& surface,
                                                              quantity::Instant at);

}  // namespace setwell::core
