#pragma once

#include <optional>

#include "daemon/core/entry.hpp"
#include "daemon/core/material.hpp"

/// How thick a coat is.
namespace setwell::core {

/// Grams per cm³ taken for a mix whose sheet states no densities: that of unfilled mixed epoxy.
inline constexpr double kUnstatedDensity = 1.1;

/// The density of a mix as weighed by its sheet; `kUnstatedDensity` where the sheet does not tell.
[[nodiscard]] double mixed_density(const Material& material);

/// The film of a coat, all its passes together: as said, else grams over the coated area, which is a film
/// only where nothing evaporates (epoxy, light-cured). Nothing where neither tells; the sheet's own film then
/// counts.
[[nodiscard]] std::optional<quantity::Micrometres> film_of(const Material& material, const CoatMade& made,
                                                           std::optional<quantity::SquareCentimetres> area);

}  // namespace setwell::core
