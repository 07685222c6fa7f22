#include "daemon/settings/settings_reader.hpp"

#include <algorithm>

#include "daemon/settings/parts.hpp"
#include "daemon/toml_text/parse.hpp"

namespace setwell::settings {
namespace {

using toml_text::Report;
using toml_text::Table;

template <typename Item, typename Id>
const Item* with_id(const std::vector<Item>& items, const Id& id) {
  const auto found =
      std::find_if(items.begin(), items.end(), [&](const Item& item) { return item.id == id; });
  return found == items.end() ? nullptr : &*found;
}

Settings read_all(Table& root, const ZoneLookup& zones) {
  Settings settings;
  if (auto table = root.table("workshop")) settings.workshop = read_workshop(*table, zones);
  if (auto table = root.table("broker")) settings.broker = read_broker(*table);
  for (Table& table : root.tables("zone"))
    settings.zones.push_back(read_zone(table));
  for (Table& table : root.tables("channel"))
    settings.channels.push_back(read_channel(table, zones));
  for (Table& table : root.tables("form"))
    settings.forms.push_back(read_form(table));
  for (Table& table : root.tables("route"))
    settings.routes.push_back(read_route(table));
  if (auto table = root.table("entry")) {
    settings.entry.mqtt = table->truth("mqtt").value_or(false);
    table->done();
  }
  root.done();
  return settings;
}

}  // namespace

const Zone* Settings::zone(const quantity::ZoneId& id) const {
  return with_id(zones, id);
}

const Form* Settings::form(const quantity::FormId& id) const {
  return with_id(forms, id);
}

const Route* Settings::route(const quantity::RouteId& id) const {
  return with_id(routes, id);
}

SettingsReading read_settings(std::string_view toml, std::string_view file_name, const ZoneLookup& zones) {
  Report report{std::string(file_name)};
  const auto node = toml_text::parse(toml, report);
  Table root(node, "", report);
  Settings settings = read_all(root, zones);
  check_relations(settings, report);
  SettingsReading reading;
  if (report.clean()) reading.settings = std::move(settings);
  reading.faults = report.take_faults();
  reading.warnings = report.take_warnings();
  return reading;
}

}  // namespace setwell::settings
