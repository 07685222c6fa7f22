#include "sensors/decode/formats/json.hpp"

#include <cmath>
#include <string>

#include <fmt/format.h>

#include "sensors/decode/formats/json_members.hpp"
#include "sensors/decode/formats/strict_json.hpp"
#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

namespace json = boost::json;
using quantity::Refusal;

std::string identifier(const json::value& value) {
  if (value.is_string()) return std::string(value.get_string());
  if (value.is_int64()) return fmt::format("{}", value.get_int64());
  if (value.is_uint64()) return fmt::format("{}", value.get_uint64());
  return value.is_double() ? fmt::format("{}", value.get_double()) : std::string();
}

/// The part of the document that the channel's pointers start from; null where no element carries the
/// identifier.
const json::value* base_of(const ChannelSpec& spec, const json::value& root) {
  if (!spec.select) return &root;
  if (!root.is_array()) return nullptr;
  for (const auto& element : root.get_array()) {
    const json::value* id = find(element, spec.select->path);
    if (id != nullptr && identifier(*id) == spec.select->is) return &element;
  }
  return nullptr;
}

TimeStamp read_time(const ChannelSpec& spec, const json::value& base) {
  if (spec.time_path.empty()) return {};
  const json::value* member = find(base, spec.time_path);
  if (member == nullptr || member->is_null()) return {};
  if (spec.time_unit == TimeUnit::iso) {
    if (!member->is_string()) return {TimeStamp::Kind::unusable, 0.0, {}};
    return {TimeStamp::Kind::text, 0.0, std::string(member->get_string())};
  }
  const auto number = as_number(*member, Decimal::point);
  if (!number) return {TimeStamp::Kind::unusable, 0.0, {}};
  return {TimeStamp::Kind::number, *number, {}};
}

void read_unit(const ChannelSpec& spec, const json::value& base, Sample& sample) {
  if (spec.unit_path.empty()) return;
  const json::value* member = find(base, spec.unit_path);
  if (member == nullptr || member->is_null()) return;
  if (member->is_string()) sample.stated_unit = unit_by_word(std::string_view(member->get_string()));
  sample.stated_unit_unknown = !sample.stated_unit;
}

std::optional<double> number_at(const ChannelSpec& spec, const json::value& base, const std::string& path) {
  if (path.empty()) return std::nullopt;
  const json::value* member = find(base, path);
  return member == nullptr ? std::nullopt : as_number(*member, spec.decimal);
}

std::optional<std::int64_t> whole(std::optional<double> number) {
  if (!number || std::abs(*number) > 9e15 || std::floor(*number) != *number) return std::nullopt;
  return static_cast<std::int64_t>(*number);
}

}  // namespace

Samples read_json(const ChannelSpec& spec, std::string_view text) {
  if (trimmed(text).empty()) return one(Refusal::no_value);
  const auto document = parse_strictly(text);
  if (!document) return one(Refusal::not_json);
  const json::value* base = base_of(spec, *document);
  const json::value* member = base == nullptr ? nullptr : find(*base, spec.path);
  if (member == nullptr) return {};
  const auto value = read_member(spec, *member);
  if (const auto* refusal = std::get_if<Refusal>(&value)) return one(*refusal);
  Sample sample;
  sample.figure = std::get<Figure>(value);
  sample.time = read_time(spec, *base);
  read_unit(spec, *base, sample);
  sample.seq = whole(number_at(spec, *base, spec.seq_path));
  sample.uptime = number_at(spec, *base, spec.uptime_path);
  sample.humidity_along = number_at(spec, *base, spec.with_humidity);
  return one(std::move(sample));
}

}  // namespace setwell::decode
