#pragma once

#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/reading.hpp"

namespace setwell::screen {

// How far two values of one channel may lie apart and still be one room. All limits grow with the time
// between the two, because a real room moves. They were chosen on twelve rooms recorded at 1 to 60 minutes:
// in 99.99 of 100 steps those move less than 0.5 K or 5 % RH in one minute, 6 K or 11.5 % in five and 3.1 K
// or 9.4 % in ten.

/// Two values agree within a floor, …
inline constexpr double kAgreeKelvin = 2.0;   ///< twice the error of a poor sensor, with a grid of 1 °C
inline constexpr double kAgreePercent = 8.0;  ///< a door, a kettle or a breath moves a sensor this far
/// … so much more for every minute between them, …
inline constexpr double kAgreeKelvinPerMinute = 0.4;   ///< a cabinet that warms up from cold
inline constexpr double kAgreePercentPerMinute = 1.0;  ///< a room that is aired
/// … and at most this: rooms differ less between day and night.
inline constexpr double kAgreeMostKelvin = 10.0;
inline constexpr double kAgreeMostPercent = 30.0;

/// Beyond agreement plus this a value is far off: no room moves so, even when a heater starts or a door
/// opens. A value at the edge of the record, with neighbours on one side only, is refused only when it is far
/// off.
inline constexpr double kFarKelvin = 8.0;
inline constexpr double kFarPercent = 25.0;

/// A value "continues the earlier level" in another unit or scale within this for ten minutes, …
inline constexpr double kContinueKelvin = 2.0;
inline constexpr double kContinuePercent = 5.0;
/// … widening at a tenth of a unit per minute (a cooling room at night) to this.
inline constexpr double kContinueMostKelvin = 6.0;
inline constexpr double kContinueMostPercent = 15.0;

/// The limits of one quantity. Units follow the quantity: K or % RH.
class Agreement {
 public:
  explicit Agreement(quantity::MeasuredQuantity quantity);

  [[nodiscard]] double agree(quantity::Span apart) const;
  [[nodiscard]] double far(quantity::Span apart) const;
  [[nodiscard]] double go_on(quantity::Span apart) const;

 private:
  struct Line {
    double floor;
    double per_minute;
    double most;
  };
  Line agree_;
  Line go_on_;
  double far_;
};

/// The time between two values. Where one of them has an uncertain time it counts as at least an hour: values
/// that waited at the broker arrive in one second and were measured over hours.
[[nodiscard]] quantity::Span apart(const quantity::DecodedValue& a, const quantity::DecodedValue& b);

}  // namespace setwell::screen
