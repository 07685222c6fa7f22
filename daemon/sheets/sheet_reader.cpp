#include "daemon/sheets/sheet_reader.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "daemon/sheets/conditions.hpp"
#include "daemon/sheets/contradictions.hpp"
#include "daemon/sheets/missing.hpp"
#include "daemon/sheets/recoat.hpp"
#include "daemon/sheets/times.hpp"
#include "daemon/toml_text/parse.hpp"
#include "daemon/toml_text/reader.hpp"
#include "daemon/toml_text/words.hpp"

namespace setwell::sheets {
namespace {

using core::Material;
using toml_text::NodeKind;
using toml_text::Report;
using toml_text::Table;

std::vector<std::pair<std::string_view, core::Family>> family_words() {
  std::vector<std::pair<std::string_view, core::Family>> words;
  for (const core::Family family : core::kFamilies)
    words.emplace_back(core::word(family), family);
  return words;
}

std::string listed_families() {
  std::vector<std::string_view> words;
  for (const core::Family family : core::kFamilies)
    words.push_back(core::word(family));
  return toml_text::listed(words);
}

/// A date may stand with or without quotes: it is kept as written.
std::string read_date(Table& sheet) {
  const auto* node = sheet.find("date");
  if (node && node->kind == NodeKind::moment) return node->text;
  return sheet.text("date").value_or("");
}

void read_head(Table& sheet, Material& material) {
  material.id = quantity::SheetId(sheet.need_id("id"));
  material.name = sheet.need_text("name", "what the material is called at the bench");
  material.document = sheet.need_text("document", "which datasheet the figures come from");
  material.edition = sheet.text("edition").value_or("");
  material.date = read_date(sheet);
  sheet.need("family", listed_families());
  material.family = sheet.choice("family", family_words()).value_or(core::Family::epoxy);
}

void read_reference(Table& sheet, Material& material) {
  if (!sheet.need("reference", "[reference] with temperature = \"23 C\"")) return;
  auto table = sheet.table("reference");
  if (!table) return;
  table->need("temperature", "the temperature its times hold at, like \"23 C\"");
  if (const auto t = table->figure("temperature", toml_text::celsius)) material.reference_temperature = *t;
  material.reference_humidity = table->figure("humidity", toml_text::humidity);
  material.reference_film = table->figure("film", toml_text::film);
  material.pot_test_mass = table->figure("pot_mass", toml_text::mass);
  material.reference_where = table->text("where").value_or("");
  table->done();
}

std::optional<double> ratio_of(std::string_view text) {
  double a = 0.0;
  double b = 0.0;
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, a, std::chars_format::fixed);
  if (first.ec != std::errc{} || first.ptr == end || *first.ptr != ':') return std::nullopt;
  const auto second = std::from_chars(first.ptr + 1, end, b, std::chars_format::fixed);
  if (second.ec != std::errc{} || second.ptr != end) return std::nullopt;
  const double ratio = a / b;
  return a > 0.0 && b > 0.0 && std::isfinite(ratio) && ratio > 0.0 ? std::optional(ratio) : std::nullopt;
}

std::optional<double> read_ratio(Table& table, std::string_view key) {
  constexpr std::string_view kRight = "parts of A to parts of B in a text, like \"100:83\"";
  const auto* node = table.find(key);
  if (!node) return std::nullopt;
  const auto ratio = node->kind == NodeKind::text ? ratio_of(node->text) : std::nullopt;
  if (!ratio) table.fault(key, "no ratio of two parts above zero", std::string(kRight));
  return ratio;
}

void read_mix(Table& sheet, Material& material) {
  auto table = sheet.table("mix");
  if (!table) return;
  core::Mix mix;
  if (!table->has("by_weight") && !table->has("by_volume")) {
    table->missing("by_weight", "by_weight = \"100:83\", by_volume = \"1:1\", or both");
  }
  mix.by_weight = read_ratio(*table, "by_weight");
  mix.by_volume = read_ratio(*table, "by_volume");
  mix.density_a = table->figure("density_a", toml_text::density);
  mix.density_b = table->figure("density_b", toml_text::density);
  mix.tolerance = table->figure("tolerance", toml_text::share).value_or(mix.tolerance);
  mix.stir = table->figure("stir", toml_text::hours);
  mix.induction = table->figure("induction", toml_text::hours);
  mix.where = table->text("where").value_or("");
  table->done();
  material.mix = std::move(mix);
}

void read_milestones(Table& sheet, Material& material) {
  auto table = sheet.table("milestones");
  if (!table) return;
  const auto times = [&](std::string_view key) {
    return read_times(*table, key, material.reference_temperature, NoLimit::refused);
  };
  material.pot_life = times("pot_life");
  material.flash_off = times("flash_off");
  material.tack_free = times("tack_free");
  material.sandable = times("sandable");
  material.handling = times("handling");
  material.packing = times("packing");
  material.full_cure = times("full_cure");
  material.full_strength = times("full_strength");
  table->done();
}

void read_phases(Table& sheet, Material& material) {
  if (auto table = sheet.table("application")) {
    material.apply_least = table->figure("least", toml_text::celsius);
    material.application = read_phase(*table);
    table->done();
  }
  if (auto table = sheet.table("cure")) {
    material.cure_floor = table->figure("floor", toml_text::celsius);
    material.cure = read_phase(*table);
    table->done();
  }
}

void read_loaded(Table& sheet, Material& material) {
  const std::vector<std::pair<std::string_view, int>> loads = {{"flake", 0}, {"glitter", 0}, {"pigment", 0}};
  for (Table& table : sheet.tables("loaded")) {
    core::LoadedRule rule;
    table.need("load", "flake, glitter or pigment");
    (void)table.choice("load", loads);
    rule.load = table.text("load").value_or("");
    rule.opens_at_least = table.figure("opens_at_least", toml_text::hours);
    rule.note = table.text("note").value_or("");
    rule.where = table.text("where").value_or("");
    if (!table.has("opens_at_least") && !table.has("note")) {
      table.missing("note", "what changes: opens_at_least = \"6 h\", a note, or both");
    }
    table.done();
    const auto same = [&](const core::LoadedRule& other) { return other.load == rule.load; };
    if (!rule.load.empty() && std::any_of(material.loaded.begin(), material.loaded.end(), same))
      table.fault("load", fmt::format("a second rule for {}", rule.load), "one rule for each load");
    material.loaded.push_back(std::move(rule));
  }
}

void read_cautions(Table& sheet, Material& material) {
  const std::vector<std::pair<std::string_view, int>> topics = {{"flame", 0}, {"breathing", 0}, {"skin", 0},
                                                                {"dust", 0},  {"food", 0},      {"heat", 0}};
  for (Table& table : sheet.tables("caution")) {
    core::Caution caution;
    table.need("topic", "flame, breathing, skin, dust, food or heat");
    (void)table.choice("topic", topics);
    caution.topic = table.text("topic").value_or("");
    caution.text = table.need_text("text", "what the datasheet says, in a sentence");
    caution.where = table.text("where").value_or("");
    table.done();
    material.cautions.push_back(std::move(caution));
  }
}

Material read_all(Table& sheet) {
  Material material;
  read_head(sheet, material);
  read_reference(sheet, material);
  read_mix(sheet, material);
  read_milestones(sheet, material);
  material.recoat = read_recoat(sheet, material.reference_temperature);
  read_phases(sheet, material);
  read_loaded(sheet, material);
  read_cautions(sheet, material);
  sheet.done();
  return material;
}

std::optional<Material> read_beside(Table& sheet, const KnownSheets& known) {
  Report& report = sheet.report();
  Material material = read_all(sheet);
  check_rules(material, report);
  warn_of_contradictions(material, report);
  warn_of_unknown_tops(material, known, report);
  warn_of_missing(material, report);
  if (!report.clean()) return std::nullopt;
  most_particular_first(material.recoat);
  return material;
}

}  // namespace

std::optional<std::string> sheet_id(std::string_view toml) {
  Report unread{std::string()};
  const auto root = toml_text::parse(toml, unread);
  for (const auto& member : root.members) {
    if (member.key == "id" && member.value.kind == NodeKind::text && !member.value.text.empty())
      return member.value.text;
  }
  return std::nullopt;
}

std::optional<Material> read_sheet_table(Table& sheet) {
  return read_beside(sheet, std::nullopt);
}

SheetReading read_sheet(std::string_view toml, std::string_view file_name, const KnownSheets& known) {
  Report report{std::string(file_name)};
  const auto root = toml_text::parse(toml, report);
  Table sheet(root, "", report);
  SheetReading reading;
  reading.material = read_beside(sheet, known);
  reading.faults = report.take_faults();
  reading.warnings = report.take_warnings();
  return reading;
}

}  // namespace setwell::sheets
