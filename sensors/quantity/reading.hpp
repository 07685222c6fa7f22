#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::quantity {

/// What a number is in. `none` is for quantities without a unit (battery, running, door).
enum class Unit { deg_c, deg_f, percent, ratio, none };

/// How far a measured time can be trusted.
enum class TimeQuality { certain, uncertain, bad };

/// One value of one channel as decoded; stored once, never changed. What it is worth is for the screening to
/// say, and may change when a neighbour arrives.
struct DecodedValue {
  /// °C, % RH, 1 or 0 for `running` (on) and `door` (open), the number as it is for `battery`. Calibration is
  /// not in it.
  double value = 0.0;
  double number = 0.0;     ///< as sent, times the channel's scale, before the unit
  Unit unit = Unit::none;  ///< of `number`: the message's own where it states one, else the channel's
  Instant measured;
  Instant received;
  TimeQuality time = TimeQuality::certain;
  bool by_device = false;  ///< `measured` is the device's own time: two values that share it are one
  std::optional<std::int64_t> seq;
  std::optional<double> uptime;
  bool clamped = false;      ///< a humidity over 100 % that is still plausible
  bool power_on = false;     ///< exactly 85.0 °C: an oven, or a one-wire probe's register after power-up
  bool redelivered = false;  ///< the broker's flag: a hint
  std::string topic;         ///< by which way it came
  /// Set where the value itself was refused (sentinel, unit-conflict, boot-zero, out-of-range). Such a value
  /// takes part in the screening only so that its repeats are counted as `duplicate`.
  std::optional<Refusal> refusal;
};

}  // namespace setwell::quantity
