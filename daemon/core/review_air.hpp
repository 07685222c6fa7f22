#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/outside.hpp"
#include "daemon/core/review_case.hpp"
#include "daemon/core/surface.hpp"

/// What air and surface did about one coat, as the record has it. Pure.
namespace setwell::core {

/// A short piece of the record, linear enough to count by its end. Values in °C, %, K.
struct AirStep {
  quantity::Instant from, to;
  bool silent = false;  ///< nothing trusted; the rest is then empty
  double air_c = 0;
  Surface surface;
  std::optional<double> humidity_pct, dew_point_c;
  std::optional<air::DewMargin> margin;
  [[nodiscard]] double hours() const { return quantity::hours_between(from, to).count(); }
  [[nodiscard]] Moment moment() const;
};

/// The air about a coat from `from` to `to`: through every zone the piece lay in, with its surface following
/// by the form's lag from where it was brought, hand readings of the surface replacing it. What lies past the
/// record is silent. Steps are at most ten minutes long.
[[nodiscard]] std::vector<AirStep> air_about(const CaseFile& file, const Piece& piece, const Coat& coat,
                                             quantity::Instant from, quantity::Instant to);

/// Least and most of something, nothing where it was never known.
struct Extent {
  std::optional<double> least, most;
  void take(double value);
};

/// One stretch of a coat's life.
struct PhaseFacts {
  std::string phase;  ///< application, until tack-free, until recoat, until full cure
  quantity::Instant from, to;
  bool ended = false;  ///< its milestone was reached by the expected clock; else the record ends first
  Extent air_c, surface_c, humidity_pct, dew_margin_k;
  double silent_h = 0;
  [[nodiscard]] double hours() const { return quantity::hours_between(from, to).count(); }
  /// Whether at least four fifths of it were recorded.
  [[nodiscard]] bool known() const { return silent_h <= 0.2 * hours(); }
};
[[nodiscard]] PhaseFacts phase_facts(const std::vector<AirStep>& steps, std::string phase,
                                     quantity::Instant from, quantity::Instant to, bool ended);

/// How long a bound of the sheet was passed.
struct OutsideFacts {
  ConditionRule rule;
  double hours = 0;     ///< outside
  double of_hours = 0;  ///< recorded hours of its phase
  double worst = 0;
};
/// When a film stopped giving off solvent or water, and when it was tack-free.
struct FilmTimes {
  quantity::Instant flash_off, tack_free;
};
/// All bounds of the coat, each over its own phase. An application lasts at least half an hour.
[[nodiscard]] std::vector<OutsideFacts> outside_facts(const std::vector<AirStep>& steps,
                                                      const Material& material, const Coat& coat,
                                                      const FilmTimes& film);

}  // namespace setwell::core
