#pragma once

#include <algorithm>
#include <compare>
#include <optional>
#include <stdexcept>

namespace setwell::quantity {

/// Relative humidity over liquid water, kept as measured. Invariant: 0 to 105 %; condensing air and drifting
/// sensors read a little over 100, so calculations use `for_air()`.
class RelativeHumidity {
 public:
  /// The door for values known to be right; throws std::domain_error otherwise.
  [[nodiscard]] static constexpr RelativeHumidity percent(double value) {
    if (!possible(value)) throw std::domain_error("not a relative humidity");
    return RelativeHumidity(value);
  }
  /// The door for values from outside: nothing for NaN and the impossible.
  [[nodiscard]] static constexpr std::optional<RelativeHumidity> from_percent(double value) {
    if (!possible(value)) return std::nullopt;
    return RelativeHumidity(value);
  }

  [[nodiscard]] constexpr double in_percent() const { return percent_; }
  /// 0 … 1, anything over saturation taken as saturation.
  [[nodiscard]] constexpr double for_air() const { return std::min(percent_, 100.0) / 100.0; }

  friend constexpr auto operator<=>(RelativeHumidity, RelativeHumidity) = default;

 private:
  explicit constexpr RelativeHumidity(double percent) : percent_(percent) {}
  static constexpr bool possible(double value) { return value >= 0.0 && value <= 105.0; }
  double percent_;
};

}  // namespace setwell::quantity
