#pragma once

#include <optional>

#include "sensors/decode/channel.hpp"
#include "sensors/decode/formats/sample.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/quantity/reading.hpp"

namespace setwell::decode {

using quantity::TimeQuality;

/// Times before this come from clocks that were never set.
inline constexpr quantity::Instant kFirstBelievableTime =
    std::chrono::sys_days(std::chrono::year(2024) / std::chrono::January / 1);
/// Likewise where the workshop's own clock is before that: in the rehearsal of an older record.
inline constexpr quantity::Instant kFirstRehearsedTime =
    std::chrono::sys_days(std::chrono::year(2001) / std::chrono::January / 1);
/// A device may be this far ahead of the workshop's clock; further ahead its time is not used.
inline constexpr quantity::Span kMostAhead = std::chrono::minutes(2);
/// A message without a device time that comes within this long of a resumed connection may have waited at the
/// broker. A backlog of 10,000 messages takes about this long.
inline constexpr quantity::Span kQueuedWithin = std::chrono::seconds(60);

/// When a value was measured, as well as can be known.
struct Timed {
  quantity::Instant measured;
  TimeQuality quality = TimeQuality::certain;
  bool by_device = false;  ///< `measured` is the device's own absolute time, fit to recognise a repeat by
};

/// The moment a device states, or nothing where it states none that makes sense. Local times in a repeated or
/// skipped hour go by nearness to `received`; nothing is held against `received` otherwise.
[[nodiscard]] std::optional<quantity::Instant> stated_time(const ChannelSpec& spec, const TimeStamp& stamp,
                                                           quantity::Instant received);

/// The measured time: the device's where it states a sensible one that is not ahead, otherwise the receive
/// time with the quality that says why.
[[nodiscard]] Timed resolve_time(const ChannelSpec& spec, const TimeStamp& stamp, const RawMessage& message);

}  // namespace setwell::decode
