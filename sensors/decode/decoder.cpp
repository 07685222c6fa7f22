#include "sensors/decode/decoder.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "sensors/decode/formats/json.hpp"
#include "sensors/decode/formats/number.hpp"
#include "sensors/decode/formats/pair.hpp"
#include "sensors/decode/formats/senml.hpp"
#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

using quantity::MeasuredQuantity;
using quantity::Refusal;

/// Register values that mean "no reading", as the usual sensors send them after scaling.
constexpr std::array kTemperatureSentinels{-127.0, -196.6, 998.0, 999.0, 6553.5, 655.35, -3276.8};
constexpr std::array kHumiditySentinels{998.0, 999.0, 6553.5, 655.35};
constexpr double kPowerOn = 85.0;
/// Scaling leaves rounding in the last places; sentinels have at most two decimals.
constexpr double kExactly = 1e-6;

bool is_exactly(double a, double b) {
  return std::abs(a - b) <= kExactly;
}

template <typename Values>
bool holds(const Values& values, double number) {
  return std::any_of(values.begin(), values.end(), [&](double value) { return is_exactly(value, number); });
}

bool is_sentinel(const ChannelSpec& spec, double number) {
  if (holds(spec.sentinels, number)) return true;
  if (is_temperature(spec.quantity)) return holds(kTemperatureSentinels, number);
  return spec.quantity == MeasuredQuantity::relative_humidity && holds(kHumiditySentinels, number);
}

Samples read(const ChannelSpec& spec, std::string_view text) {
  switch (spec.format) {
    case Format::number:
      return read_number(spec, text);
    case Format::json:
      return read_json(spec, text);
    case Format::senml:
      return read_senml(spec, text);
    case Format::pair:
      return read_pair(spec, text);
  }
  return {};
}

Samples samples_of(const ChannelSpec& spec, const RawMessage& message) {
  if (std::max(message.payload_size, message.payload.size()) > kLargestPayload)
    return one(Refusal::too_large);
  const bool plain = spec.format == Format::number || spec.format == Format::pair;
  if (!is_text(message.payload, plain ? DegreeSign::latin1_too : DegreeSign::utf8_only)) {
    return one(Refusal::not_text);
  }
  return read(spec, without_mark(message.payload));
}

bool fits(MeasuredQuantity quantity, Unit unit) {
  if (is_temperature(quantity)) return unit == Unit::deg_c || unit == Unit::deg_f;
  if (quantity == MeasuredQuantity::relative_humidity) return unit == Unit::percent || unit == Unit::ratio;
  return true;
}

/// The unit to read a sample in; nothing where the payload contradicts the channel.
std::optional<Unit> effective_unit(const ChannelSpec& spec, const Sample& sample) {
  if (sample.stated_unit_unknown) return std::nullopt;
  const Unit unit = sample.stated_unit.value_or(unit_of(spec));
  if (!fits(spec.quantity, unit)) return std::nullopt;
  const bool contradicts = sample.figure.suffix && *sample.figure.suffix != unit && unit != Unit::none;
  return contradicts ? std::nullopt : std::optional(unit);
}

double converted(double number, Unit unit) {
  if (unit == Unit::deg_f) return (number - 32.0) / 1.8;
  return unit == Unit::ratio ? number * 100.0 : number;
}

/// A sensor that has not measured yet says zero to everything. Zero degrees alone are weather; zero humidity
/// alone is not found in any room.
bool is_boot_zero(const ChannelSpec& spec, const DecodedValue& value, const Sample& sample) {
  if (value.number != 0.0) return false;
  if (spec.quantity == MeasuredQuantity::relative_humidity) return true;
  return is_temperature(spec.quantity) && sample.humidity_along && *sample.humidity_along == 0.0;
}

bool out_of_range(const ChannelSpec& spec, double value) {
  const auto range = range_of(spec);
  return !std::isfinite(value) || (range && (value < range->low || value > range->high));
}

/// In the order of screening: sentinel, unit, boot-zero, range. Sets the value on its way.
std::optional<Refusal> judge_alone(const ChannelSpec& spec, const Sample& sample, DecodedValue& value) {
  value.value = value.number;
  if (is_sentinel(spec, value.number)) return Refusal::sentinel;
  const auto unit = effective_unit(spec, sample);
  if (!unit) return Refusal::unit_conflict;
  value.unit = *unit;
  value.value = converted(value.number, *unit);
  if (is_boot_zero(spec, value, sample)) return Refusal::boot_zero;
  if (out_of_range(spec, value.value)) return Refusal::out_of_range;
  return std::nullopt;
}

bool is_power_on(const ChannelSpec& spec, const DecodedValue& value) {
  return is_temperature(spec.quantity) && value.unit == Unit::deg_c && is_exactly(value.number, kPowerOn);
}

DecodedValue value_of(const ChannelSpec& spec, const Sample& sample, const RawMessage& message) {
  DecodedValue value;
  const auto timed = resolve_time(spec, sample.time, message);
  value.number = sample.figure.number * spec.scale;
  value.unit = unit_of(spec);
  value.measured = timed.measured;
  value.received = message.received;
  value.time = timed.quality;
  value.by_device = timed.by_device;
  value.seq = sample.seq;
  value.uptime = sample.uptime;
  value.redelivered = message.duplicate;
  value.topic = message.topic;
  value.refusal = judge_alone(spec, sample, value);
  value.power_on = is_power_on(spec, value);
  value.clamped =
      spec.quantity == MeasuredQuantity::relative_humidity && !value.refusal && value.value > 100.0;
  return value;
}

}  // namespace

Decoding decode(const ChannelSpec& spec, const RawMessage& message) {
  Decoding decoding;
  for (const auto& found : samples_of(spec, message)) {
    if (const auto* refusal = std::get_if<Refusal>(&found)) {
      decoding.emplace_back(*refusal);
    } else if (message.retained) {
      decoding.emplace_back(Refusal::retained);
    } else {
      decoding.emplace_back(value_of(spec, std::get<Sample>(found), message));
    }
  }
  return decoding;
}

std::optional<quantity::Instant> device_time_of(const ChannelSpec& spec, const RawMessage& message) {
  std::optional<quantity::Instant> newest;
  for (const auto& found : samples_of(spec, message)) {
    const auto* sample = std::get_if<Sample>(&found);
    if (sample == nullptr || sample->time.kind == TimeStamp::Kind::relative_s) continue;
    const auto at = stated_time(spec, sample->time, message.received);
    if (at && (!newest || *newest < *at)) newest = at;
  }
  return newest;
}

std::optional<Presence> decode_presence(const Availability& availability, const RawMessage& message) {
  if (message.topic != availability.topic) return std::nullopt;
  const std::string_view word = trimmed(message.payload);
  if (same_word(word, availability.on)) return Presence::online;
  if (same_word(word, availability.off)) return Presence::offline;
  return std::nullopt;
}

}  // namespace setwell::decode
