#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "sensors/decode/channel.hpp"
#include "sensors/decode/figure.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::decode {

/// A device time as a payload gives it, before anybody asks whether it makes sense.
struct TimeStamp {
  enum class Kind {
    none,        ///< the payload has none
    number,      ///< since 1970, in the channel's unit
    text,        ///< ISO 8601
    absolute_s,  ///< since 1970, in seconds
    relative_s,  ///< after the moment of sending, in seconds; before it where negative
    unusable,    ///< something stands there that no time can be read from
  };
  Kind kind = Kind::none;
  double number = 0.0;
  std::string text;
};

/// What a format finds for one channel, before scale, unit, range and time are looked at.
struct Sample {
  Figure figure;
  /// By a member of the payload, which is obeyed (a suffix is not: it may only agree).
  std::optional<Unit> stated_unit;
  bool stated_unit_unknown = false;  ///< a member states a unit that nobody knows
  TimeStamp time;
  std::optional<std::int64_t> seq;
  std::optional<double> uptime;
  std::optional<double> humidity_along;
};

using Found = std::variant<Sample, quantity::Refusal>;

/// Every format: the payload's samples for this channel, in the payload's order. Empty where the member is
/// absent
/// ("not measured now"). `text` is known to be text, without a leading mark. None of them throws.
using Samples = std::vector<Found>;

[[nodiscard]] inline Samples one(Found found) {
  return Samples{std::move(found)};
}

}  // namespace setwell::decode
