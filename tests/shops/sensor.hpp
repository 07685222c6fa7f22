#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sensors/decode/raw_message.hpp"
#include "sensors/room/random.hpp"
#include "tests/shops/rooms.hpp"

/// A shop's sensor: true to what its maker states, but for what happens to sensors.
namespace setwell::shops {

struct Spell {
  double from = 0, to = 0;  ///< minutes
  [[nodiscard]] bool holds(double minute) const { return minute >= from && minute < to; }
};

struct SensorTraits {
  double interval = 5;                                                  ///< minutes
  double offset = 0, drift_per_day = 0, noise = 0.1, resolution = 0.1;  // K
  double damp_offset = 0, damp_noise = 0.5, damp_resolution = 0.5;      // %
  bool tells_time = true;                                               ///< a device time in the payload
  double clock_error = 0;                                               ///< minutes, of the device's clock
  double lost = 0;             ///< share of single messages that never come
  std::vector<Spell> outages;  ///< nothing comes
  std::vector<Spell> held;     ///< what is measured comes when it is over (only with a device time)
  std::vector<Spell> stuck;    ///< the same value again and again
  std::vector<double> reboots;
  bool old_value_left = false;  ///< a retained value from another season waits at the broker
};

/// What a shop's sensor is like over `length` minutes. Offset, drift, noise and rounding together stay within
/// ±0.5 K and ±5 % nearly always, which is what the settings state.
[[nodiscard]] SensorTraits traits_of(room::Random& random, double interval, double length);

/// Everything that arrives, in order of arrival; minutes from `room.begin`.
struct Arrival {
  double minute = 0;
  decode::RawMessage message;
};
[[nodiscard]] std::vector<Arrival> arrivals_of(const SensorTraits& traits, const Room& room,
                                               const std::string& topic, room::Random& random);

/// The `[[channel]]` tables of the settings.
[[nodiscard]] std::string channels_text(const SensorTraits& traits, const std::string& topic);

/// What the sensor would read of a temperature at a minute, without noise: for those who go by a thermometer.
[[nodiscard]] double shown_celsius(const SensorTraits& traits, double celsius, double minute);

}  // namespace setwell::shops
