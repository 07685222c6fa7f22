#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "daemon/settings/parts.hpp"

/// What stands at the bench: zones and forms.
namespace setwell::settings {
namespace {

using toml_text::NodeKind;
using toml_text::Table;

constexpr std::int64_t kMostPlaces = 200;

std::vector<std::string> read_places(Table& table) {
  const auto* node = table.find("places");
  if (!node) return {};
  if (node->kind != NodeKind::list) {
    const auto count = table.whole("places", 1, kMostPlaces);
    std::vector<std::string> places;
    for (std::int64_t i = 1; i <= count.value_or(0); ++i)
      places.push_back(std::to_string(i));
    return places;
  }
  auto places = table.texts("places");
  if (std::set(places.begin(), places.end()).size() != places.size()) {
    table.fault("places", "a name twice", "each place once");
  }
  return places;
}

void read_set_point(Table& table, Zone& zone) {
  zone.set_point = table.figure("set_point", toml_text::celsius);
  const bool heated = zone.kind == ZoneKind::heated;
  if (heated && !table.has("set_point")) table.missing("set_point", "what it is heated to, like \"35 C\"");
  if (!heated && table.has("set_point"))
    table.fault("set_point", "a room has none", "kind = \"heated\" beside it");
  if (zone.set_point && (zone.set_point->degrees() < 0.0 || zone.set_point->degrees() > 120.0)) {
    table.fault("set_point", "no temperature to cure at", "0 to 120 C");
  }
}

bool control(char c) {
  return static_cast<unsigned char>(c) < 0x20;
}

}  // namespace

std::optional<std::string> wrong_topic(std::string_view topic) {
  if (topic.empty()) return "empty";
  if (topic.size() > 65535) return "longer than MQTT allows";
  if (topic.find_first_of("+#") != std::string_view::npos) return fmt::format("\"{}\" has a wildcard", topic);
  if (std::any_of(topic.begin(), topic.end(), control)) return "has a control character";
  return std::nullopt;
}

Zone read_zone(Table& table) {
  Zone zone;
  zone.id = quantity::ZoneId(table.need_id("id"));
  zone.kind = table.choice<ZoneKind>("kind", {{"room", ZoneKind::room}, {"heated", ZoneKind::heated}})
                  .value_or(table.has("set_point") ? ZoneKind::heated : ZoneKind::room);
  read_set_point(table, zone);
  zone.places = read_places(table);
  table.done();
  return zone;
}

Form read_form(Table& table) {
  Form form;
  form.id = quantity::FormId(table.need_id("id"));
  table.need("area", "the coated area, like \"450 cm2\"");
  form.area = table.figure("area", toml_text::area).value_or(form.area);
  table.need("lag", "how fast it follows the air: its time constant, like \"15 min\"");
  if (const auto lag = table.figure("lag", toml_text::hours)) form.lag = *lag;
  if (form.lag > std::chrono::hours(48)) table.fault("lag", "slower than any piece on a bench", "up to 48 h");
  table.done();
  return form;
}

}  // namespace setwell::settings
