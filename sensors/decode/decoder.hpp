#pragma once

#include <optional>
#include <variant>
#include <vector>

#include "sensors/decode/channel.hpp"
#include "sensors/decode/device_time.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/quantity/reading.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::decode {

using quantity::DecodedValue;

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

}  // namespace setwell::decode
