#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "daemon/settings/parts.hpp"
#include "daemon/toml_text/words.hpp"

namespace setwell::settings {
namespace {

using decode::ChannelSpec;
using quantity::MeasuredQuantity;
using toml_text::Report;

std::string at(std::string_view list, std::size_t index, std::string_view key) {
  return fmt::format("{}[{}].{}", list, index, key);
}

template <typename Item>
void check_ids(std::string_view list, const std::vector<Item>& items, Report& report) {
  std::set<std::string> seen;
  for (std::size_t i = 0; i < items.size(); ++i) {
    const std::string& id = items[i].id.text();
    if (id.empty() || seen.insert(id).second) continue;
    report.fault(at(list, i, "id"), fmt::format("a second {} called \"{}\"", list, id), "each id once");
  }
}

std::string zones_in_words(const Settings& settings) {
  std::vector<std::string_view> names;
  for (const Zone& zone : settings.zones)
    names.push_back(zone.id.text());
  return names.empty() ? "a [[zone]] with this id"
                       : toml_text::listed(names) + ", or a [[zone]] with this id";
}

void check_place(const Settings& settings, std::size_t index, Report& report) {
  const ChannelSpec& channel = settings.channels[index];
  const Zone* zone = settings.zone(channel.zone);
  if (!zone) {
    if (channel.zone.empty()) return;
    return report.fault(at("channel", index, "zone"),
                        fmt::format("there is no zone \"{}\"", channel.zone.text()),
                        zones_in_words(settings));
  }
  const auto& places = zone->places;
  if (channel.place.empty() || std::find(places.begin(), places.end(), channel.place) != places.end()) return;
  report.fault(at("channel", index, "place"),
               fmt::format("zone \"{}\" has no place \"{}\"", zone->id.text(), channel.place),
               "one of the zone's places");
}

/// The value in the messages that a channel reads.
auto source_of(const ChannelSpec& channel) {
  return std::tuple(channel.topic, channel.path, channel.select ? channel.select->is : std::string());
}

auto target_of(const ChannelSpec& channel) {
  return std::tuple(channel.zone, channel.place, channel.quantity);
}

void check_sources(const Settings& settings, Report& report) {
  std::map<decltype(source_of(ChannelSpec{})), std::size_t> readers;
  for (std::size_t i = 0; i < settings.channels.size(); ++i) {
    const ChannelSpec& channel = settings.channels[i];
    if (channel.topic.empty()) continue;
    const auto [first, fresh] = readers.emplace(source_of(channel), i);
    if (fresh) continue;
    const ChannelSpec& other = settings.channels[first->second];
    if (target_of(channel) == target_of(other)) {
      report.fault(at("channel", i, "topic"), fmt::format("reads the same as channel[{}]", first->second),
                   "each value once; another topic or path");
    } else if (channel.quantity == other.quantity) {
      report.warn(at("channel", i, "topic"),
                  fmt::format("one sensor for two places, as channel[{}]", first->second),
                  "a sensor in each, unless they share their air");
    } else {
      report.fault(at("channel", i, "topic"),
                   fmt::format("one value as two quantities, as channel[{}]", first->second),
                   "another topic or path for one of them");
    }
  }
}

bool measured(const Settings& settings, const Zone& zone, MeasuredQuantity quantity) {
  return std::any_of(settings.channels.begin(), settings.channels.end(), [&](const ChannelSpec& channel) {
    return channel.zone == zone.id && channel.quantity == quantity;
  });
}

void check_coverage(const Settings& settings, Report& report) {
  if (!report.clean()) return;
  for (std::size_t i = 0; i < settings.zones.size(); ++i) {
    const Zone& zone = settings.zones[i];
    if (zone.id.empty()) continue;
    if (!measured(settings, zone, MeasuredQuantity::air_temperature)) {
      report.warn(at("zone", i, "id"), "nothing measures its air temperature",
                  "a [[channel]] for it, or readings by hand");
    } else if (!measured(settings, zone, MeasuredQuantity::relative_humidity)) {
      report.warn(at("zone", i, "id"), "nothing measures its humidity, so there is no dew margin",
                  "a [[channel]] of relative-humidity for it");
    }
  }
}

void check_spans(const Settings& settings, Report& report) {
  for (std::size_t i = 0; i < settings.channels.size(); ++i) {
    const ChannelSpec& channel = settings.channels[i];
    if (channel.silent_after == quantity::Span(0)) {
      report.fault(at("channel", i, "silent_after"), "zero would make every reading a silence",
                   "like \"15 min\"");
    }
    if (channel.stuck_after <= channel.silent_after) {
      report.fault(at("channel", i, "stuck_after"), "not longer than silent_after", "like \"12 h\"");
    }
  }
}

void check_entry(const Settings& settings, Report& report) {
  if (!settings.entry.mqtt) return;
  report.warn("entry.mqtt", "this version takes no logging lines from the broker", "false, or leave it out");
}

}  // namespace

void check_relations(const Settings& settings, Report& report) {
  check_ids("zone", settings.zones, report);
  check_ids("form", settings.forms, report);
  check_ids("route", settings.routes, report);
  for (std::size_t i = 0; i < settings.channels.size(); ++i)
    check_place(settings, i, report);
  check_sources(settings, report);
  check_spans(settings, report);
  check_coverage(settings, report);
  check_entry(settings, report);
}

}  // namespace setwell::settings
