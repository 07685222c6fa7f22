#pragma once

#include <string_view>

namespace setwell::quantity {

/// What a stored reading is worth; the first that applies, in this order. Only judged `good` and `clamped`
/// readings open anything.
enum class Quality { time_bad, time_uncertain, settling, clamped, good };

/// `time-bad`, `time-uncertain`, …
[[nodiscard]] std::string_view word(Quality quality);

/// What a channel measures.
enum class MeasuredQuantity {
  air_temperature,
  relative_humidity,
  surface_temperature,
  battery,
  running,
  door
};

/// `air-temperature`, `relative-humidity`, …
[[nodiscard]] std::string_view word(MeasuredQuantity quantity);

}  // namespace setwell::quantity
