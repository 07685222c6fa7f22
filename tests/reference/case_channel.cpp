#include "tests/reference/case_channel.hpp"

#include <cmath>
#include <map>
#include <sstream>
#include <stdexcept>
#include <vector>

#include <boost/json.hpp>

#include "daemon/runtime/zone_loader.hpp"

namespace setwell::reference {

namespace json = boost::json;
using decode::ChannelSpec;
using quantity::Instant;

std::string text_of(const json::value& value) {
  return std::string(value.as_string());
}

Instant instant_of(const json::value& value) {
  const auto at = quantity::parse_rfc3339(text_of(value));
  if (!at) throw std::runtime_error("no time: " + text_of(value));
  return *at;
}

namespace {

/// Cases are set in the 2030s; zones are known for 40 years from here.
constexpr Instant kZonesFrom = std::chrono::sys_days(std::chrono::year(2020) / 1 / 1);

template <typename T>
T choose(const std::string& word, const std::map<std::string, T>& known) {
  const auto found = known.find(word);
  if (found == known.end()) throw std::runtime_error("unknown word " + word);
  return found->second;
}

quantity::Span span_of(const json::value& value) {
  if (value.is_number()) return quantity::Span(std::llround(value.to_number<double>() * 1000.0));
  std::istringstream in(text_of(value));
  double amount = 0.0;
  std::string unit;
  in >> amount >> unit;
  const auto ms = choose<double>(unit, {{"ms", 1.0}, {"s", 1e3}, {"min", 6e4}, {"h", 3.6e6}, {"d", 8.64e7}});
  return quantity::Span(std::llround(amount * ms));
}

std::vector<std::string> texts_of(const json::value& value) {
  if (!value.is_array()) return {text_of(value)};
  std::vector<std::string> texts;
  for (const auto& element : value.as_array())
    texts.push_back(text_of(element));
  return texts;
}

quantity::MeasuredQuantity quantity_of(const std::string& name) {
  for (int i = 0; i <= static_cast<int>(quantity::MeasuredQuantity::door); ++i) {
    const auto known = static_cast<quantity::MeasuredQuantity>(i);
    if (word(known) == name) return known;
  }
  throw std::runtime_error("unknown quantity " + name);
}

quantity::TimeZone zone_of(const std::string& name) {
  auto zone = runtime::load_zone(name, kZonesFrom);
  if (!zone) throw std::runtime_error("unknown time zone " + name);
  return *zone;
}

decode::Calibration calibration_of(const json::value& value) {
  if (value.is_number()) return {value.to_number<double>(), Instant{}};
  decode::Calibration calibration;
  for (const auto& [key, member] : value.as_object()) {
    if (member.is_number()) calibration.add = member.to_number<double>();
    if (member.is_string()) calibration.valid_from = instant_of(member);
  }
  return calibration;
}

std::vector<decode::Calibration> calibrations_of(const json::value& value) {
  if (!value.is_array()) return {calibration_of(value)};
  std::vector<decode::Calibration> all;
  for (const auto& element : value.as_array())
    all.push_back(calibration_of(element));
  return all;
}

std::string identifier_of(const json::value& value) {
  return value.is_string() ? text_of(value) : json::serialize(value);
}

void read_availability(ChannelSpec& spec, const json::object& keys) {
  decode::Availability availability;
  availability.topic = text_of(keys.at("topic"));
  if (keys.contains("on")) availability.on = text_of(keys.at("on"));
  if (keys.contains("off")) availability.off = text_of(keys.at("off"));
  spec.availability = availability;
}

using Reader = void (*)(ChannelSpec&, const json::value&);

const std::map<std::string, Reader>& readers() {
  using S = ChannelSpec;
  using V = json::value;
  static const std::map<std::string, Reader> known{
      {"zone", [](S& s, const V& v) { s.zone = quantity::ZoneId(text_of(v)); }},
      {"place", [](S& s, const V& v) { s.place = text_of(v); }},
      {"topic", [](S& s, const V& v) { s.topic = text_of(v); }},
      {"quantity", [](S& s, const V& v) { s.quantity = quantity_of(text_of(v)); }},
      {"format",
       [](S& s, const V& v) {
         using F = decode::Format;
         s.format = choose<F>(
             text_of(v), {{"number", F::number}, {"json", F::json}, {"senml", F::senml}, {"pair", F::pair}});
       }},
      {"path", [](S& s, const V& v) { s.path = identifier_of(v); }},
      {"separator", [](S& s, const V& v) { s.separator = text_of(v); }},
      {"select",
       [](S& s, const V& v) {
         s.select = {text_of(v.at("path")), identifier_of(v.at("is"))};
       }},
      {"probe", [](S& s, const V& v) { s.probe = text_of(v); }},
      {"seq_path", [](S& s, const V& v) { s.seq_path = text_of(v); }},
      {"uptime_path", [](S& s, const V& v) { s.uptime_path = text_of(v); }},
      {"availability", [](S& s, const V& v) { read_availability(s, v.as_object()); }},
      {"sentinels",
       [](S& s, const V& v) {
         for (const auto& one : v.as_array())
           s.sentinels.push_back(one.to_number<double>());
       }},
      {"with_humidity", [](S& s, const V& v) { s.with_humidity = identifier_of(v); }},
      {"unit",
       [](S& s, const V& v) {
         using U = decode::Unit;
         s.unit = choose<U>(text_of(v),
                            {{"degC", U::deg_c}, {"degF", U::deg_f}, {"%", U::percent}, {"ratio", U::ratio}});
       }},
      {"unit_path", [](S& s, const V& v) { s.unit_path = text_of(v); }},
      {"scale", [](S& s, const V& v) { s.scale = v.to_number<double>(); }},
      {"decimal",
       [](S& s, const V& v) {
         s.decimal = choose<decode::Decimal>(
             text_of(v), {{"point", decode::Decimal::point}, {"comma", decode::Decimal::comma}});
       }},
      {"time_path", [](S& s, const V& v) { s.time_path = text_of(v); }},
      {"time_unit",
       [](S& s, const V& v) {
         using T = decode::TimeUnit;
         s.time_unit = choose<T>(text_of(v), {{"s", T::seconds}, {"ms", T::milliseconds}, {"iso", T::iso}});
       }},
      {"time_zone", [](S& s, const V& v) { s.time_zone = zone_of(text_of(v)); }},
      {"range",
       [](S& s, const V& v) {
         s.range = {v.at(0).to_number<double>(), v.at(1).to_number<double>()};
       }},
      {"settle", [](S& s, const V& v) { s.settle = span_of(v); }},
      {"silent_after", [](S& s, const V& v) { s.silent_after = span_of(v); }},
      {"stuck_after", [](S& s, const V& v) { s.stuck_after = span_of(v); }},
      {"error", [](S& s, const V& v) { s.error = v.to_number<double>(); }},
      {"offset", [](S& s, const V& v) { s.offset = calibrations_of(v); }},
      {"on", [](S& s, const V& v) { s.on_words = texts_of(v); }},
      {"off", [](S& s, const V& v) { s.off_words = texts_of(v); }},
  };
  return known;
}

}  // namespace

ChannelSpec channel_of(const json::object& keys) {
  ChannelSpec spec;
  for (const auto& [key, value] : keys) {
    const auto reader = readers().find(std::string(key));
    if (reader == readers().end()) throw std::runtime_error("unknown key " + std::string(key));
    reader->second(spec, value);
  }
  return spec;
}

}  // namespace setwell::reference
