#pragma once

#include <cmath>
#include <compare>
#include <optional>
#include <stdexcept>

namespace setwell::quantity {

/// A difference of temperatures, in kelvin. Any finite value.
class CelsiusDelta {
 public:
  constexpr CelsiusDelta() = default;
  /// Refuses NaN and infinities with std::domain_error.
  explicit constexpr CelsiusDelta(double kelvin) : kelvin_(kelvin) {
    if (!(kelvin > -1e9 && kelvin < 1e9)) throw std::domain_error("a temperature difference must be finite");
  }
  [[nodiscard]] constexpr double kelvin() const { return kelvin_; }
  friend constexpr auto operator<=>(CelsiusDelta, CelsiusDelta) = default;
  friend constexpr CelsiusDelta operator-(CelsiusDelta d) { return CelsiusDelta(-d.kelvin_); }

 private:
  double kelvin_ = 0.0;
};

/// A temperature on the Celsius scale. Invariant: finite, above absolute zero, below 10 000 °C.
class Celsius {
 public:
  /// The door for values known to be right; throws std::domain_error otherwise.
  explicit constexpr Celsius(double degrees) : degrees_(degrees) {
    if (!possible(degrees)) throw std::domain_error("not a temperature");
  }
  /// The door for values from outside: nothing for NaN, infinities and the impossible.
  [[nodiscard]] static constexpr std::optional<Celsius> from(double degrees) {
    if (!possible(degrees)) return std::nullopt;
    return Celsius(degrees);
  }
  [[nodiscard]] static constexpr std::optional<Celsius> from_fahrenheit(double degrees) {
    return from((degrees - 32.0) / 1.8);
  }

  [[nodiscard]] constexpr double degrees() const { return degrees_; }
  [[nodiscard]] constexpr double kelvin() const { return degrees_ + 273.15; }
  [[nodiscard]] constexpr double fahrenheit() const { return degrees_ * 1.8 + 32.0; }

  friend constexpr auto operator<=>(Celsius, Celsius) = default;
  friend constexpr CelsiusDelta operator-(Celsius a, Celsius b) {
    return CelsiusDelta(a.degrees_ - b.degrees_);
  }
  friend constexpr Celsius operator+(Celsius t, CelsiusDelta d) { return Celsius(t.degrees_ + d.kelvin()); }
  friend constexpr Celsius operator-(Celsius t, CelsiusDelta d) { return Celsius(t.degrees_ - d.kelvin()); }

 private:
  static constexpr bool possible(double degrees) { return degrees > -273.15 && degrees < 10000.0; }
  double degrees_;
};

}  // namespace setwell::quantity
