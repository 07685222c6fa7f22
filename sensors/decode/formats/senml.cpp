#include "sensors/decode/formats/senml.hpp"

#include <algorithm>
#include <string>

#include "sensors/decode/formats/json_members.hpp"
#include "sensors/decode/formats/strict_json.hpp"
#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

namespace json = boost::json;
using quantity::Refusal;

constexpr double kVersion = 10.0;
/// RFC 8428, 4.5.3: smaller times are seconds relative to now.
constexpr double kFirstAbsoluteSecond = 268435456.0;

/// The base fields in force.
struct Base {
  std::string name;
  std::optional<double> time;
  std::string unit;
  double value = 0.0;
};

/// A record with the base fields resolved into it.
struct Record {
  std::string name;
  std::string unit;
  std::optional<double> time;
  double base_value = 0.0;
  const json::object* members = nullptr;
};

std::string text_of(const json::object& object, std::string_view key, std::string otherwise = {}) {
  const json::value* member = object.if_contains({key.data(), key.size()});
  return member != nullptr && member->is_string() ? std::string(member->get_string()) : otherwise;
}

std::optional<double> number_of(const json::object& object, std::string_view key) {
  const json::value* member = object.if_contains({key.data(), key.size()});
  return member != nullptr && member->is_number() ? as_number(*member, Decimal::point) : std::nullopt;
}

bool must_be_understood(json::string_view label) {
  return label.ends_with('_');
}

bool is_readable(const json::value& element) {
  if (!element.is_object()) return false;
  const auto& object = element.get_object();
  if (object.contains("bver") && number_of(object, "bver") != kVersion) return false;
  return std::none_of(object.begin(), object.end(),
                      [](const auto& m) { return must_be_understood(m.key()); });
}

void take_base(Base& base, const json::object& object) {
  base.name = text_of(object, "bn", base.name);
  base.unit = text_of(object, "bu", base.unit);
  if (const auto time = number_of(object, "bt")) base.time = time;
  base.value = number_of(object, "bv").value_or(base.value);
}

Record resolve(const Base& base, const json::object& object) {
  Record record;
  record.members = &object;
  record.name = base.name + text_of(object, "n");
  record.unit = text_of(object, "u", base.unit);
  record.base_value = base.value;
  const auto own = number_of(object, "t");
  if (own || base.time) record.time = base.time.value_or(0.0) + own.value_or(0.0);
  return record;
}

/// A record that only sets base fields for those after it measures nothing.
bool only_sets_base(const json::object& object) {
  return std::all_of(object.begin(), object.end(), [](const auto& member) { return member.key()[0] == 'b'; });
}

std::variant<Figure, Refusal> read_value(const ChannelSpec& spec, const Record& record) {
  const json::object& members = *record.members;
  if (const json::value* v = members.if_contains("v")) {
    auto value = v->is_number() ? read_member(spec, *v) : Refusal::not_a_number;
    if (auto* figure = std::get_if<Figure>(&value)) figure->number += record.base_value;
    return value;
  }
  const bool is_switch = spec.quantity == quantity::MeasuredQuantity::running ||
                         spec.quantity == quantity::MeasuredQuantity::door;
  for (const char* label : {"vb", "vs"}) {
    const json::value* member = members.if_contains(label);
    if (member != nullptr) return is_switch ? read_member(spec, *member) : Refusal::not_a_number;
  }
  const bool other = members.contains("vd") || members.contains("s");
  return other ? Refusal::not_a_number : Refusal::no_value;
}

Found read_record(const ChannelSpec& spec, const Record& record) {
  const auto value = read_value(spec, record);
  if (const auto* refusal = std::get_if<Refusal>(&value)) return *refusal;
  Sample sample;
  sample.figure = std::get<Figure>(value);
  if (!record.unit.empty()) {
    sample.stated_unit = unit_by_word(record.unit);
    sample.stated_unit_unknown = !sample.stated_unit;
  }
  if (record.time) {
    const bool absolute = *record.time >= kFirstAbsoluteSecond;
    sample.time = {absolute ? TimeStamp::Kind::absolute_s : TimeStamp::Kind::relative_s, *record.time, {}};
  }
  return sample;
}

}  // namespace

Samples read_senml(const ChannelSpec& spec, std::string_view text) {
  if (trimmed(text).empty()) return one(Refusal::no_value);
  const auto document = parse_strictly(text);
  if (!document || !document->is_array()) return one(Refusal::not_json);
  const json::array& pack = document->get_array();
  if (!std::all_of(pack.begin(), pack.end(), is_readable)) return one(Refusal::not_json);
  Samples samples;
  std::optional<double> humidity;
  Base base;
  for (const auto& element : pack) {
    const json::object& object = element.get_object();
    take_base(base, object);
    const Record record = resolve(base, object);
    if (!spec.with_humidity.empty() && record.name == spec.with_humidity) humidity = number_of(object, "v");
    if (record.name == spec.path && !only_sets_base(object)) samples.push_back(read_record(spec, record));
  }
  for (auto& found : samples) {
    if (auto* sample = std::get_if<Sample>(&found)) sample->humidity_along = humidity;
  }
  return samples;
}

}  // namespace setwell::decode
