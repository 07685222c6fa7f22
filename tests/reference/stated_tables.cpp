#include "tests/reference/stated_tables.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <iterator>
#include <optional>

#include <fmt/format.h>

namespace setwell::reference {
namespace {

using core::Family;
using core::Milestone;

constexpr std::array<std::string_view, 7> kColumns{"sheet",         "material",    "quantity",    "under",
                                                   "temperature_c", "minutes_low", "minutes_high"};
enum Column { sheet, material, quantity_name, under, temperature, minutes_low, minutes_high };

std::vector<std::string> fields_of(std::string_view line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  return fields;
}

/// Where each of kColumns stands.
std::optional<std::array<std::size_t, kColumns.size()>> places_of(const std::vector<std::string>& header) {
  std::array<std::size_t, kColumns.size()> places{};
  for (std::size_t i = 0; i < kColumns.size(); ++i) {
    const auto at = std::find(header.begin(), header.end(), kColumns[i]);
    if (at == header.end()) return std::nullopt;
    places[i] = static_cast<std::size_t>(at - header.begin());
  }
  return places;
}

std::optional<double> number_in(const std::string& text) {
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, fault] = std::from_chars(text.data(), end, value);
  if (fault != std::errc{} || stop != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<core::Row> row_of(const std::string& celsius, const std::string& low, const std::string& high) {
  const auto c = number_in(celsius);
  const auto from = number_in(low);
  const auto to = number_in(high);
  if (!c || !from || !to || *c < -50 || *c > 100 || *from <= 0 || *to < *from) return std::nullopt;
  const core::Wording wording = *from == *to ? core::Wording::exact : core::Wording::range;
  return core::Row{
      quantity::Celsius(*c), {wording, quantity::Hours(*from / 60), quantity::Hours(*to / 60)}, {}};
}

StatedTable& table_in(std::vector<StatedTable>& tables, const StatedTable& like) {
  const auto known = std::find_if(tables.begin(), tables.end(), [&](const StatedTable& t) {
    return t.sheet == like.sheet && t.quantity == like.quantity && t.under == like.under &&
           t.material == like.material;
  });
  return known != tables.end() ? *known : tables.emplace_back(like);
}

bool has(std::string_view text, std::initializer_list<std::string_view> words) {
  return std::any_of(words.begin(), words.end(),
                     [text](std::string_view word) { return text.find(word) != std::string_view::npos; });
}

}  // namespace

Milestone milestone_of(std::string_view quantity) {
  if (has(quantity, {"gap-begins", "close", "max"})) return Milestone::recoat_closes;
  if (has(quantity, {"gap-ends", "open", "recoat", "min"})) return Milestone::recoat_opens;
  if (has(quantity, {"pot", "gel", "working"})) return Milestone::pot_life_over;
  if (has(quantity, {"sand"})) return Milestone::sandable;
  if (has(quantity, {"service", "cure"})) return Milestone::full_cure;
  if (has(quantity, {"hard", "shore", "handl", "pack", "walk", "load", "through"}))
    return Milestone::handling;
  return Milestone::tack_free;
}

Family family_of(std::string_view material) {
  if (has(material, {"water-borne", "waterborne"})) return Family::water_borne;
  if (has(material, {"moisture"})) return Family::moisture_cured_urethane;
  if (has(material, {"urethane"})) return Family::urethane;
  if (has(material, {"alkyd", "enamel"})) return Family::alkyd;
  if (has(material, {"lacquer"})) return Family::solvent_lacquer;
  if (has(material, {"light"})) return Family::light_cured;
  return Family::epoxy;
}

Family StatedTable::family() const {
  return family_of(material);
}

Milestone StatedTable::milestone() const {
  return milestone_of(quantity);
}

std::size_t StatedTable::shown() const {
  const auto off = [](const core::Row& row) { return std::fabs(row.at.degrees() - 23.0); };
  return static_cast<std::size_t>(std::distance(
      rows.rows.begin(),
      std::min_element(rows.rows.begin(), rows.rows.end(),
                       [&](const core::Row& a, const core::Row& b) { return off(a) < off(b); })));
}

std::string kin_of(std::string_view sheet) {
  const auto end = std::find_if(sheet.rbegin(), sheet.rend(), [](char c) { return c < 'a' || c > 'z'; });
  std::string name(sheet.begin(), end == sheet.rend() ? sheet.end() : end.base());
  return name == "E3" ? "E2" : name;
}

std::vector<StatedTable> without(const std::vector<StatedTable>& tables, std::string_view sheet) {
  std::vector<StatedTable> others;
  std::copy_if(tables.begin(), tables.end(), std::back_inserter(others),
               [&](const StatedTable& table) { return kin_of(table.sheet) != kin_of(sheet); });
  return others;
}

quantity::Result<std::vector<StatedTable>> read_tables(std::string_view text) {
  std::vector<StatedTable> tables;
  std::optional<std::array<std::size_t, kColumns.size()>> places;
  for (int number = 1; !text.empty(); ++number) {
    const std::string_view line = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(text.size(), line.size() + 1));
    const std::vector<std::string> fields = fields_of(line);
    if (fields.size() == 1 && fields.front().empty()) continue;
    if (!places) {
      places = places_of(fields);
      if (!places)
        return quantity::invalid(fmt::format("line {}: not the columns of a table of times", number));
      continue;
    }
    const auto field = [&](Column column) -> std::string {
      return (*places)[column] < fields.size() ? fields[(*places)[column]] : std::string();
    };
    const auto row = row_of(field(temperature), field(minutes_low), field(minutes_high));
    if (!row || field(sheet).empty())
      return quantity::invalid(fmt::format("line {}: no time of a sheet", number));
    table_in(tables, {field(sheet), field(material), field(quantity_name), field(under), {}})
        .rows.rows.push_back(*row);
  }
  for (StatedTable& table : tables) {
    std::stable_sort(table.rows.rows.begin(), table.rows.rows.end(),
                     [](const core::Row& a, const core::Row& b) { return a.at < b.at; });
  }
  return tables;
}

}  // namespace setwell::reference
