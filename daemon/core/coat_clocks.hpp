#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "daemon/core/drying.hpp"
#include "daemon/core/entry.hpp"
#include "daemon/core/lamp.hpp"
#include "daemon/core/learned.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"
#include "daemon/core/time_model.hpp"

/// The clocks of one sheet, ready to run.
namespace setwell::core {

/// One clock: which milestone, and how fast it goes at a temperature.
struct SheetClock {
  Milestone milestone = Milestone::tack_free;
  int rule = -1;                    ///< index into Material::recoat, -1 for clocks of no rule
  std::optional<ClockRates> rates;  ///< nothing where the sheet says it never comes, or it counts lamp time
  std::optional<LampMinutes> lamp;  ///< instead of rates, where minutes under the lamp count
  RateFactors load;                 ///< what flake, glitter or pigment in the coat does to it
  bool one_temperature = false;
  double coldest_c = 0, warmest_c = 0;  ///< of the stated rows
  /// The last quarter of full cure counts for the slow clock only at or above this (science 1.4).
  std::optional<double> last_quarter_c;
  bool learned = false;  ///< earlier coats' touch tests act on it

  [[nodiscard]] bool comes() const { return rates || lamp; }
};

/// Those the sheet states, in the order of Milestone, then of rules.
using SheetClocks = std::vector<SheetClock>;

/// Tabulates every clock (not pot life); costs some milliseconds, so share it between coats of one edition,
/// load, strictness, book of priors and lesson.
[[nodiscard]] std::shared_ptr<const SheetClocks> clocks_of(const Material& material, Load load,
                                                           const Strictness& strictness,
                                                           const PriorBook& book = built_in_priors(),
                                                           std::span<const LearnedShift> learned = {});

}  // namespace setwell::core
