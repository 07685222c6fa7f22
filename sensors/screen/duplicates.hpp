#pragma once

#include <chrono>
#include <span>
#include <string>
#include <vector>

#include "sensors/screen/series.hpp"

namespace setwell::screen {

/// The same value by two ways within this long is one measurement.
inline constexpr quantity::Span kSameMeasurement = std::chrono::seconds(3);
/// The same sequence number with the same value is a repeat within this long; a device that restarts counts
/// up to the number again, and at once is seldom that soon. The broker's redelivery flag lifts the limit.
inline constexpr quantity::Span kSameSequence = std::chrono::minutes(10);
/// Runs of equal values are followed back no further than this, to the start of a minute.
inline constexpr quantity::Span kRunReach = std::chrono::minutes(2);

/// Which values repeat an earlier one: same device time; or same sequence number, value and (where known)
/// uptime; or, for a sensor heard by several gateways that gives neither, the same value within three seconds
/// of a kept one. A stable room repeats its value for hours: equal values alone are never repeats.
[[nodiscard]] Flags find_duplicates(const Rules& rules, Series series);

/// A message as the broker handed it over.
struct Delivery {
  std::string topic;
  std::string payload;
  bool redelivered = false;  ///< the broker's flag
};

/// How many of the previous connection's last messages a redelivery is compared with: the broker has at most
/// so many of ours in flight.
inline constexpr std::size_t kInFlight = 20;

/// For messages whose device gives neither time nor sequence: which of this connection's messages (from its
/// first on, in order of arrival) are redeliveries. A flagged message is one only where the previous
/// connection's last `kInFlight` messages hold the same topic and payload, not matched before. Never by the
/// flag alone: a message that was flagged and never reached us is new.
[[nodiscard]] std::vector<bool> find_redeliveries(std::span<const Delivery> previous,
                                                  std::span<const Delivery> current);

}  // namespace setwell::screen
