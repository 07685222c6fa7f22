#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/reading.hpp"
#include "sensors/quantity/time_zone.hpp"

namespace setwell::decode {

/// How a payload is laid out. Never guessed from the payload.
enum class Format { number, json, senml, pair };

using quantity::Unit;

/// What stands for the decimal point in text. JSON's own numbers always have a point.
enum class Decimal { point, comma };

/// How a device time is written: seconds or milliseconds since 1970, or ISO 8601.
enum class TimeUnit { seconds, milliseconds, iso };

/// Picks the element of a root array whose member at `path` reads `is` (a number is compared as it is
/// written).
struct Select {
  std::string path;
  std::string is;
};

/// A sensor's birth and last-will topic, and its two words.
struct Availability {
  std::string topic;
  std::string on = "online";
  std::string off = "offline";
};

/// Plausible values, both ends included, in °C or %.
struct Range {
  double low;
  double high;
};

/// A calibration: what to add to a reading measured from `valid_from` on, in K or % RH. Added whenever
/// readings are used, never to what is stored.
struct Calibration {
  double add = 0.0;
  quantity::Instant valid_from{};
};

/// One `[[channel]]` of the settings: which messages feed one quantity of one zone, and how they read.
/// Whoever fills it answers for its sense (a pointer that starts with `/`, a range that is not upside down);
/// decoding and screening stay total whatever stands here.
struct ChannelSpec {
  quantity::ZoneId zone;
  std::string place;  ///< of a surface temperature: where in the zone; otherwise empty
  std::string topic;
  quantity::MeasuredQuantity quantity = quantity::MeasuredQuantity::air_temperature;
  Format format = Format::number;
  /// JSON Pointer; the resolved name for SenML; `1` or `2` for a pair; unused for a number.
  std::string path;
  std::string separator = ";";   ///< of a pair
  std::optional<Select> select;  ///< all pointers are then relative to the element
  /// The sensor's own name where several gateways hear it: channels that share it are one series.
  std::string probe;
  std::string seq_path;     ///< pointer to a counter of messages; empty = none
  std::string uptime_path;  ///< pointer to the time since the device started, in any unit; empty = none
  std::optional<Availability> availability;
  /// More exact values that mean "no reading", after `scale`, before the unit; the usual ones always count.
  std::vector<double> sentinels;
  std::string with_humidity;  ///< pointer to the humidity that came along; empty = none

  std::optional<Unit> unit;  ///< nothing = °C for temperatures, % for humidity, none for the rest
  std::string unit_path;     ///< pointer to a member that states the unit, obeyed message by message
  double scale = 1.0;        ///< the number sent times this is in `unit`
  Decimal decimal = Decimal::point;

  std::string time_path;  ///< pointer to the device time; empty = none
  TimeUnit time_unit = TimeUnit::seconds;
  /// For ISO times without an offset; without it such times are useless and the receive time is taken.
  std::optional<quantity::TimeZone> time_zone;

  std::optional<Range> range;  ///< nothing = −40…85 °C, 0…105 %, anything for the rest
  quantity::Span settle = std::chrono::seconds(120);  ///< readings this long after a restart only settle
  quantity::Span silent_after =
      std::chrono::minutes(15);  ///< a channel without good readings this long is silent
  quantity::Span stuck_after = std::chrono::hours(12);  ///< an unchanged value this long is suspect
  std::optional<double> error;      ///< stated accuracy, ±, in K or % RH; nothing = 0.5 K, 5 % RH
  std::vector<Calibration> offset;  ///< in time order of `valid_from`

  std::vector<std::string>
      on_words;  ///< of `running` and `door`, besides the usual ones (on, true, 1, open …)
  std::vector<std::string> off_words;  ///< likewise (off, false, 0, closed …)
};

[[nodiscard]] bool is_temperature(quantity::MeasuredQuantity quantity);

/// The unit the numbers are in: the one set, else the quantity's own.
[[nodiscard]] Unit unit_of(const ChannelSpec& spec);
/// The range set, else the quantity's own; nothing where anything goes.
[[nodiscard]] std::optional<Range> range_of(const ChannelSpec& spec);
/// The stated accuracy, ± in K or % RH; 0 for quantities that have none.
[[nodiscard]] double error_of(const ChannelSpec& spec);
/// What to add to a reading measured at `at`, in K or % RH; 0 before the first calibration.
[[nodiscard]] double offset_at(const ChannelSpec& spec, quantity::Instant at);

/// Names the series that the channel feeds. Channels of one zone, quantity and probe give the same name, so
/// two gateways that hear one sensor feed one series.
[[nodiscard]] quantity::ChannelId id_of(const ChannelSpec& spec);

}  // namespace setwell::decode
