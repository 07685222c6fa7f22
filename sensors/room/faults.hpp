#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "sensors/quantity/instant.hpp"

/// What sensors in the field do to good air: pure functions, the same seed gives the same faults.
namespace setwell::room {

enum class Fault {
  dropouts,     ///< nothing sent for 20 min to 3 h, about once a day
  stuck,        ///< one stretch of 14 h (or a third of the span, if that is shorter) with unchanged values
  spikes,       ///< single absurd values, one row in 200
  sentinel,     ///< 85.0 °C or 998 %, one row in 200
  retained,     ///< an old value from a month before, left with the broker as retained before the first row
  clock_unset,  ///< device times in January 1970 for half an hour after about one start a day
  duplicates,   ///< the same message twice, one row in 50
};

/// As the command line names it (`clock-unset`); nothing for another word.
[[nodiscard]] std::optional<Fault> fault_named(std::string_view word);
/// All of them, in the order above.
[[nodiscard]] std::vector<std::string_view> fault_names();

/// One message of a sensor: values as it would send them, good or not.
struct SensorMessage {
  quantity::Instant at;           ///< when it is sent
  quantity::Instant device_time;  ///< what the sensor's clock says
  double temperature = 0.0;       ///< °C
  double humidity = 0.0;          ///< %
  bool retained = false;
};

/// Puts the faults into messages that are in time order; the answer is in time order too.
[[nodiscard]] std::vector<SensorMessage> with_faults(std::vector<SensorMessage> messages,
                                                     const std::vector<Fault>& faults, std::uint64_t seed);

}  // namespace setwell::room
