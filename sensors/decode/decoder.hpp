#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "sensors/decode/channel.hpp"
#include "sensors/decode/device_time.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::decode {

/// One value of one channel as decoded; stored once, never changed. What it is worth is for the screening to
/// say, and may change when a neighbour arrives.
struct DecodedValue {
  /// °C, % RH, 1 or 0 for `running` (on) and `door` (open), the number as it is for `battery`. Calibration is
  /// not in it.
  double value = 0.0;
  double number = 0.0;     ///< as sent, times `scale`, before the unit
  Unit unit = Unit::none;  ///< of `number`: the message's own where it states one, else the channel's
  quantity::Instant measured;
  quantity::Instant received;
  TimeQuality time = TimeQuality::certain;
  bool by_device = false;  ///< `measured` is the device's own time: two values that share it are one
  std::optional<std::int64_t> seq;
  std::optional<double> uptime;
  bool clamped = false;      ///< a humidity over 100 % that is still plausible
  bool redelivered = false;  ///< the broker's flag: a hint
  std::string topic;         ///< by which way it came
  /// Set where the value itself was refused (sentinel, unit-conflict, boot-zero, out-of-range). Such a value
  /// takes part in the screening only so that its repeats are counted as `duplicate`.
  std::optional<quantity::Refusal> refusal;
};

/// What one message meant to one channel, in the payload's order: nothing at all where the member is absent
/// ("not measured now"); a lone refusal where the message could not be read or was a retained one.
using Decoding = std::vector<std::variant<DecodedValue, quantity::Refusal>>;

/// Reads a message for a channel whose topic it came on. Pure, total, never throws on any bytes; the same in
/// every locale. Of the order of screening it does decode, retained, sentinel, unit, boot-zero, range and
/// time; duplicates and what needs neighbours belong to `screen`. 85.0 °C is left to `screen` too: only its
/// neighbours tell a power-on register from an oven.
[[nodiscard]] Decoding decode(const ChannelSpec& spec, const RawMessage& message);

/// The newest moment that the message states for this channel's values, whether or not it fits the receive
/// time; nothing where it states none. A rehearsal takes it for the receive time.
[[nodiscard]] std::optional<quantity::Instant> device_time_of(const ChannelSpec& spec,
                                                              const RawMessage& message);

/// What a message on a channel's availability topic says of its sensor; nothing for other words. A retained
/// one may be stale: it never proves a birth, and fresh readings beat any of them.
enum class Presence { online, offline };
[[nodiscard]] std::optional<Presence> decode_presence(const Availability& availability,
                                                      const RawMessage& message);

/// Whether this value is exactly 85.0 °C in the sensor's own unit: perhaps a one-wire probe's power-on
/// register.
[[nodiscard]] bool may_be_power_on(const ChannelSpec& spec, const DecodedValue& value);

}  // namespace setwell::decode
