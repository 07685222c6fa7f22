#pragma once

#include <optional>

#include "sensors/air/psychrometrics.hpp"
#include "sensors/quantity/instant.hpp"

/// A piece brought in from a colder place: whether moisture condenses on it, and how long until it may be
/// coated.
namespace setwell::core {

struct BroughtIn {
  quantity::Celsius dew_point{0.0};
  bool condenses = false;  ///< it came colder than the dew point, the errors counted in
  /// Until the surface is `wanted` above the dew point: with the form's τ and the readings as they stand, and
  /// surely: with 2τ, the piece 1 K colder than said, and the dew margin's worst-case error on top. 0 when it
  /// is so already; nothing when this air never gets it there.
  std::optional<quantity::Minutes> likely;
  std::optional<quantity::Minutes> surely;
};

/// Newton's law of cooling: T(t) = Ta - (Ta - T0)·exp(-t/τ), so the time to a surface T is τ·ln((Ta - T0)/(Ta
/// - T)). Nothing at 0 % humidity.
[[nodiscard]] std::optional<BroughtIn> brought_in(quantity::Celsius from, quantity::Celsius air,
                                                  quantity::RelativeHumidity humidity,
                                                  const air::AirErrors& errors, quantity::Minutes lag,
                                                  quantity::CelsiusDelta wanted);

}  // namespace setwell::core
