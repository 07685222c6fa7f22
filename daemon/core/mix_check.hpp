#pragma once

#include <optional>
#include <string>

#include "daemon/core/material.hpp"
#include "sensors/quantity/measure.hpp"

/// Whether a weighed mix holds the sheet's ratio, as far as the scale can tell.
namespace setwell::core {

/// A ratio by volume, parts of A to one of B, as a ratio by weight: each part weighs volume times density.
[[nodiscard]] double weight_from_volume(double by_volume, quantity::GramsPerCubicCentimetre density_a,
                                        quantity::GramsPerCubicCentimetre density_b);

/// The sheet's ratio by weight, stated or converted from volume with both densities; nothing where it states
/// neither way.
[[nodiscard]] std::optional<double> weight_ratio(const Mix& mix);

enum class RatioFinding {
  holds,        ///< within the tolerance, whatever the scale rounded off
  off,          ///< outside the tolerance, whatever the scale rounded off
  cannot_tell,  ///< the scale is too coarse for this amount
  not_stated,   ///< the sheet states no ratio by weight, and no densities to find it
};

struct MixCheck {
  RatioFinding finding = RatioFinding::not_stated;
  double wanted = 0;          ///< A to B by weight
  double weighed = 0;         ///< as the figures stand
  double least = 0;           ///< with half the scale's resolution off either way
  double most = 0;            ///< likewise; infinite when B could be nothing
  double part_b_percent = 0;  ///< how much too much (+) or too little (−) B for that much A
  double scale_percent = 0;   ///< how far off, either way, the ratio could be by the scale alone
  std::optional<quantity::Grams> least_batch;  ///< least total the scale can hold to the tolerance
  friend bool operator==(const MixCheck&, const MixCheck&) = default;
};

/// Checks `part_a` and `part_b` on a scale that shows steps of `resolution`. The scale is taken to round and
/// to be right otherwise: drift and tare come on top.
[[nodiscard]] MixCheck check_mix(const Mix& mix, quantity::Grams part_a, quantity::Grams part_b,
                                 quantity::Grams resolution);

/// The least total of A and B at which rounding alone keeps the ratio within the tolerance.
[[nodiscard]] std::optional<quantity::Grams> least_batch(const Mix& mix, quantity::Grams resolution);

/// One line for the maker.
[[nodiscard]] std::string sentence(const MixCheck& check);

}  // namespace setwell::core
