#include <fmt/format.h>

#include "daemon/settings/channel_limits.hpp"
#include "daemon/settings/parts.hpp"

namespace setwell::settings {
namespace {

using decode::ChannelSpec;
using decode::Format;
using decode::Unit;
using quantity::MeasuredQuantity;
using toml_text::Node;
using toml_text::NodeKind;
using toml_text::Table;

bool is_number(const Node& node) {
  return node.kind == NodeKind::whole || node.kind == NodeKind::number;
}

bool switches(MeasuredQuantity quantity) {
  return quantity == MeasuredQuantity::running || quantity == MeasuredQuantity::door;
}

bool climate(MeasuredQuantity quantity) {
  return decode::is_temperature(quantity) || quantity == MeasuredQuantity::relative_humidity;
}

std::vector<std::pair<std::string_view, MeasuredQuantity>> quantity_words() {
  using Q = MeasuredQuantity;
  std::vector<std::pair<std::string_view, Q>> words;
  for (const Q q :
       {Q::air_temperature, Q::relative_humidity, Q::surface_temperature, Q::battery, Q::running, Q::door}) {
    words.emplace_back(word(q), q);
  }
  return words;
}

/// RFC 6901: empty for the whole, else `/` before each part, and `~` only as `~0` or `~1`.
bool is_pointer(std::string_view text) {
  if (!text.empty() && text.front() != '/') return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '~' && (i + 1 == text.size() || (text[i + 1] != '0' && text[i + 1] != '1'))) return false;
  }
  return true;
}

constexpr std::string_view kPointerRight = "a JSON Pointer (RFC 6901), like \"/temperature\"";

std::string pointer(Table& table, std::string_view key) {
  const auto text = table.text(key);
  if (!text) return {};
  if (is_pointer(*text)) return *text;
  table.fault(key, fmt::format("\"{}\" is no JSON Pointer", *text), std::string(kPointerRight));
  return {};
}

void refuse(Table& table, std::string_view key, std::string_view what, std::string_view right) {
  if (table.has(key)) table.fault(key, std::string(what), std::string(right));
}

/// Keys that a payload's layout has no use for would look as if they did something.
void refuse_what_format_has_not(Table& table, Format format) {
  if (format != Format::json) {
    for (const auto* key : {"select", "seq_path", "uptime_path", "with_humidity", "unit_path", "time_path",
                            "time_unit", "time_zone"}) {
      refuse(table, key, "only JSON payloads have one", "format = \"json\" beside it");
    }
  }
  if (format != Format::pair)
    refuse(table, "separator", "only a pair has one", "format = \"pair\" beside it");
  if (format == Format::number) {
    refuse(table, "path", "a plain number has none", "format = \"json\", \"senml\" or \"pair\" beside it");
  }
}

void read_path(Table& table, ChannelSpec& spec) {
  constexpr std::string_view kSenml = "the resolved name of the SenML record";
  constexpr std::string_view kPair = "which of the two numbers: \"1\" or \"2\"";
  switch (spec.format) {
    case Format::number:
      (void)table.find("path");
      return;
    case Format::json:
      table.need("path", kPointerRight);
      spec.path = pointer(table, "path");
      return;
    case Format::senml:
      spec.path = table.need_text("path", kSenml);
      return;
    case Format::pair:
      table.need("path", kPair);
      spec.path = table.choice<std::string>("path", {{"1", "1"}, {"2", "2"}}).value_or("1");
      return;
  }
}

std::string as_written(const Node& node) {
  if (node.kind == NodeKind::whole) return std::to_string(node.whole);
  return node.kind == NodeKind::number ? fmt::format("{}", node.number) : node.text;
}

void read_select(Table& table, ChannelSpec& spec) {
  auto inside = table.table("select");
  if (!inside) return;
  decode::Select select;
  inside->need("path", kPointerRight);
  select.path = pointer(*inside, "path");
  const auto* is = inside->need("is", "the identifier of the wanted element");
  if (is && is->kind != NodeKind::text && !is_number(*is)) {
    inside->fault("is", fmt::format("{} where a text or number belongs", called(is->kind)), "like \"p2\"");
  } else if (is) {
    select.is = as_written(*is);
  }
  inside->done();
  spec.select = std::move(select);
}

void read_availability(Table& table, ChannelSpec& spec) {
  auto inside = table.table("availability");
  if (!inside) return;
  decode::Availability availability;
  availability.topic = inside->need_text("topic", "the topic of its birth and last will");
  if (const auto wrong = wrong_topic(availability.topic); wrong && !availability.topic.empty()) {
    inside->fault("topic", *wrong, "one topic in full");
  }
  availability.on = inside->text("on").value_or(availability.on);
  availability.off = inside->text("off").value_or(availability.off);
  if (availability.on == availability.off) inside->fault("off", "the same word as on", "another word");
  inside->done();
  spec.availability = std::move(availability);
}

void read_unit(Table& table, ChannelSpec& spec) {
  const bool temperature = decode::is_temperature(spec.quantity);
  if (!climate(spec.quantity)) {
    refuse(table, "unit", "this quantity has no unit", "without this key");
    (void)table.find("unit");
  } else if (temperature) {
    spec.unit = table.choice<Unit>("unit", {{"degC", Unit::deg_c}, {"degF", Unit::deg_f}});
  } else {
    spec.unit = table.choice<Unit>("unit", {{"%", Unit::percent}, {"ratio", Unit::ratio}});
  }
  spec.unit_path = pointer(table, "unit_path");
  spec.scale = table.number("scale", -1e6, 1e6).value_or(spec.scale);
  if (spec.scale == 0.0) table.fault("scale", "zero", "a factor, like 0.01 for hundredths");
  spec.decimal = table
                     .choice<decode::Decimal>(
                         "decimal", {{"point", decode::Decimal::point}, {"comma", decode::Decimal::comma}})
                     .value_or(spec.decimal);
}

void read_device_time(Table& table, ChannelSpec& spec, const ZoneLookup& zones) {
  spec.time_path = pointer(table, "time_path");
  spec.time_unit = table
                       .choice<decode::TimeUnit>("time_unit", {{"s", decode::TimeUnit::seconds},
                                                               {"ms", decode::TimeUnit::milliseconds},
                                                               {"iso", decode::TimeUnit::iso}})
                       .value_or(spec.time_unit);
  spec.time_zone = read_time_zone(table, "time_zone", zones);
  if (spec.time_zone && spec.time_unit != decode::TimeUnit::iso) {
    table.fault("time_zone", "seconds since 1970 have none", "time_unit = \"iso\" beside it");
  }
  if (table.has("time_path")) return;
  refuse(table, "time_unit", "of no use without a device time", "time_path beside it");
  refuse(table, "time_zone", "of no use without a device time", "time_path beside it");
}

std::vector<std::string> word_or_words(Table& table, std::string_view key) {
  const auto* node = table.find(key);
  if (node && node->kind == NodeKind::text) return {node->text};
  return table.texts(key);
}

void read_words(Table& table, ChannelSpec& spec) {
  spec.on_words = word_or_words(table, "on");
  spec.off_words = word_or_words(table, "off");
  if (switches(spec.quantity)) return;
  for (const auto* key : {"on", "off"}) {
    refuse(table, key, "only running and door are on or off", "without this key");
  }
}

void read_source(Table& table, ChannelSpec& spec) {
  spec.zone = quantity::ZoneId(table.need_id("zone"));
  spec.topic = table.need_text("topic", "the MQTT topic in full");
  if (const auto wrong = wrong_topic(spec.topic); wrong && !spec.topic.empty()) {
    table.fault("topic", *wrong, "one topic in full; a channel is one sensor's value");
  }
  table.need("quantity", "what it measures, like \"air-temperature\"");
  spec.quantity = table.choice("quantity", quantity_words()).value_or(spec.quantity);
  spec.place = table.text("place").value_or("");
  const bool surface = spec.quantity == MeasuredQuantity::surface_temperature;
  if (surface && !table.has("place")) table.missing("place", "where in the zone, one of its places");
  if (!surface) refuse(table, "place", "only a surface temperature has one", "without this key");
}

void read_layout(Table& table, ChannelSpec& spec) {
  spec.format = table
                    .choice<Format>("format", {{"number", Format::number},
                                               {"json", Format::json},
                                               {"senml", Format::senml},
                                               {"pair", Format::pair}})
                    .value_or(table.has("path") ? Format::json : Format::number);
  if (!table.has("format")) table.missing("format", "number, json, senml or pair; it is never guessed");
  if (table.has("format")) refuse_what_format_has_not(table, spec.format);
  read_path(table, spec);
  spec.separator = table.text("separator").value_or(spec.separator);
  if (spec.separator.empty()) table.fault("separator", "empty", "what stands between the two, like \";\"");
  read_select(table, spec);
  spec.probe = table.text("probe").value_or("");
  spec.seq_path = pointer(table, "seq_path");
  spec.uptime_path = pointer(table, "uptime_path");
  spec.with_humidity = pointer(table, "with_humidity");
}

}  // namespace

ChannelSpec read_channel(Table& table, const ZoneLookup& zones) {
  ChannelSpec spec;
  read_source(table, spec);
  read_layout(table, spec);
  read_availability(table, spec);
  read_unit(table, spec);
  read_device_time(table, spec, zones);
  read_limits(table, spec);
  read_words(table, spec);
  table.done();
  return spec;
}

}  // namespace setwell::settings
