#pragma once

#include <compare>
#include <optional>
#include <stdexcept>

namespace setwell::quantity {

/// A positive amount of something, with its unit in the type. Zero, negatives, NaN and infinities are
/// refused: the constructor throws std::domain_error, `from` answers nothing.
template <typename Unit>
class Measure {
 public:
  explicit constexpr Measure(double value) : value_(value) {
    if (!possible(value)) throw std::domain_error("an amount must be positive and finite");
  }
  [[nodiscard]] static constexpr std::optional<Measure> from(double value) {
    if (!possible(value)) return std::nullopt;
    return Measure(value);
  }
  [[nodiscard]] constexpr double value() const { return value_; }
  friend constexpr auto operator<=>(Measure, Measure) = default;

 private:
  static constexpr bool possible(double value) { return value > 0.0 && value < 1e9; }
  double value_;
};

/// Film thickness, wet, in µm.
using Micrometres = Measure<struct MicrometresUnit>;
/// Mass in g.
using Grams = Measure<struct GramsUnit>;
/// Coated area in cm².
using SquareCentimetres = Measure<struct SquareCentimetresUnit>;
/// Density in g/cm³ (the same figure as kg/L).
using GramsPerCubicCentimetre = Measure<struct GramsPerCubicCentimetreUnit>;

}  // namespace setwell::quantity
