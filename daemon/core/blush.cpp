#include "daemon/core/blush.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace setwell::core {

double blush_weight(double surface_humidity_ratio, double surface_c) {
  const double damp = std::clamp((surface_humidity_ratio - 0.60) / 0.25, 0.0, 1.0);
  return damp * std::clamp((25.0 - surface_c) / 15.0, 0.2, 1.0);
}

std::string blush_words(std::optional<double> dose, quantity::Hours condensing) {
  if (!dose) return {};
  if (condensing.count() > 0)
    return "moisture lay on it before it was tack-free: wash with water, dry and abrade before the next coat";
  if (*dose > kBlushHigh)
    return "damp and cool before it was tack-free, so blush is likely: wash with water, dry and abrade "
           "before "
           "the next coat";
  if (*dose >= kBlushSome)
    return "somewhat damp before it was tack-free: wash with water and abrade before the next coat";
  return {};
}

std::string cold_words(quantity::Hours under_floor) {
  if (under_floor <= kColdTooLong) return {};
  return fmt::format("{:.0f} h under its cure floor before it was tack-free: what it will be is uncertain",
                     under_floor.count());
}

}  // namespace setwell::core
