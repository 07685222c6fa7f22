#include "daemon/core/film.hpp"

#include "daemon/core/mix_check.hpp"

namespace setwell::core {
namespace {

constexpr double kMicrometresPerCentimetre = 1e4;

bool stays_whole(Family family) {
  return family == Family::epoxy || family == Family::light_cured;
}

}  // namespace

double mixed_density(const Material& material) {
  if (!material.mix || !material.mix->density_a || !material.mix->density_b) return kUnstatedDensity;
  const auto ratio = weight_ratio(*material.mix);
  if (!ratio) return kUnstatedDensity;
  return (*ratio + 1.0) /
         (*ratio / material.mix->density_a->value() + 1.0 / material.mix->density_b->value());
}

std::optional<quantity::Micrometres> film_of(const Material& material, const CoatMade& made,
                                             std::optional<quantity::SquareCentimetres> area) {
  if (made.film) return made.film;
  if (!made.grams || !area || !stays_whole(material.family)) return std::nullopt;
  const double centimetres = made.grams->value() / (mixed_density(material) * area->value());
  return quantity::Micrometres::from(centimetres * kMicrometresPerCentimetre);
}

}  // namespace setwell::core
