#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/touch_age.hpp"
#include "daemon/service/piece_view.hpp"

/// What the sheets and schedules say.
namespace setwell::service {

using core::Material;
using core::StatedTime;
using core::TimeTable;
using quantity::Instant;

namespace {

bool in_use(const Workshop& workshop, const quantity::SheetId& id) {
  const auto& pieces = workshop.book.workbook().pieces;
  return std::any_of(pieces.begin(), pieces.end(), [&](const core::Piece& piece) {
    return piece.in_progress() && std::any_of(piece.coats.begin(), piece.coats.end(),
                                              [&](const auto& coat) { return coat.made.sheet == id; });
  });
}

api::SheetLine line_of(const Workshop& workshop, const quantity::SheetId& id, const ShelvedSheet& sheet) {
  api::SheetLine line;
  line.sheet = id.text();
  line.in_use = in_use(workshop, id);
  line.faults = sheet.faults;
  if (!sheet.material) return line;
  line.name = sheet.material->name;
  line.family = core::word(sheet.material->family);
  line.document = sheet.material->document;
  line.edition = sheet.material->edition;
  return line;
}

std::string hours(quantity::Hours span) {
  const double h = span.count();
  if (h < 1.5) return fmt::format("{:g} min", std::round(h * 600) / 10);
  if (h < 72) return fmt::format("{:g} h", std::round(h * 100) / 100);
  return fmt::format("{:g} d", std::round(h / 24 * 100) / 100);
}

std::string time_words(const StatedTime& time) {
  switch (time.wording) {
    case core::Wording::exact:
      return hours(time.low);
    case core::Wording::range:
      return hours(time.low) + " to " + hours(time.high);
    case core::Wording::at_least:
      return "at least " + hours(time.low);
    case core::Wording::at_most:
      return "at most " + hours(time.high);
    case core::Wording::no_limit:
      return "no limit";
  }
  return {};
}

/// Collects the figures of a sheet in reading order.
class Figures {
 public:
  Figures(std::vector<api::SheetFigure>& to, core::Display display) : to_(to), display_(std::move(display)) {}

  void add(std::string what, std::string value, const std::string& where) {
    to_.push_back({std::move(what), std::move(value), where});
  }
  void table(const std::string& what, const std::optional<TimeTable>& table) {
    if (!table) return;
    for (const auto& row : table->rows)
      add(what + " at " + core::show(row.at, display_), time_words(row.time), row.where);
  }
  void conditions(const std::string& phase, const core::PhaseConditions& stated) {
    range(phase + ", advised", stated.advised, stated.where);
    range(phase + ", limit", stated.limit, stated.where);
    if (stated.lasts) add(phase + ", holds for", hours(*stated.lasts), stated.where);
  }

 private:
  void range(const std::string& what, const core::Conditions& c, const std::string& where) {
    if (c.temperature.least) add(what + ", air at least", core::show(*c.temperature.least, display_), where);
    if (c.temperature.most) add(what + ", air at most", core::show(*c.temperature.most, display_), where);
    if (c.humidity.least) add(what + ", humidity at least", core::show(*c.humidity.least), where);
    if (c.humidity.most) add(what + ", humidity at most", core::show(*c.humidity.most), where);
    if (c.dew_margin) add(what + ", dew margin at least", core::show(*c.dew_margin, display_), where);
  }
  std::vector<api::SheetFigure>& to_;
  core::Display display_;
};

void mix_figures(const Material& material, Figures& figures) {
  if (!material.mix) return;
  const auto& mix = *material.mix;
  if (mix.by_weight) figures.add("A to B by weight", fmt::format("{:g} : 1", *mix.by_weight), mix.where);
  if (mix.by_volume) figures.add("A to B by volume", fmt::format("{:g} : 1", *mix.by_volume), mix.where);
  if (mix.stir) figures.add("stir", fmt::format("{:g} min", mix.stir->count()), mix.where);
  if (mix.induction)
    figures.add("stand after mixing", fmt::format("{:g} min", mix.induction->count()), mix.where);
}

void recoat_figures(const Material& material, Figures& figures) {
  for (const auto& rule : material.recoat) {
    const auto head = "recoat with " + rule.top;
    figures.add(head, std::string(core::word(rule.kind)) + (rule.touch_opens ? ", a touch may open it" : ""),
                rule.where);
    figures.table(head + ": opens", rule.opens);
    figures.table(head + ": early window ends", rule.gap_begins);
    figures.table(head + ": late window opens", rule.gap_ends);
    figures.table(head + ": closes", rule.closes);
  }
}

/// What the shop has learned of each clock that touches tell of, where anything was tested.
std::vector<api::LearnedNow> learned_of(const Workshop& workshop, const Material& material, Instant now) {
  std::vector<api::LearnedNow> all;
  for (const auto& clock : core::tested_clocks(material)) {
    const auto lesson = workshop.learned.lesson(material, clock, workshop.settings->workshop.scatter, now);
    if (lesson.pieces == 0) continue;
    api::LearnedNow shown;
    shown.name = core::word(clock.milestone);
    if (const auto* rule = core::rule_at(material, clock.rule)) shown.top = rule->top;
    shown.pieces = lesson.pieces;
    shown.tests = lesson.tests;
    shown.sooner = lesson.sooner;
    shown.later = lesson.later;
    if (lesson.pieces >= core::kLearnedShownFrom) shown.factor = std::exp(lesson.mean_ln);
    shown.text = core::lesson_words(lesson, clock.milestone);
    shown.acts = core::lesson_acts(lesson);
    all.push_back(std::move(shown));
  }
  return all;
}

std::string item_words(const core::ScheduleItem& item) {
  if (const auto* coat = std::get_if<core::PlannedCoat>(&item)) {
    return "coat " + coat->sheet.text() + (coat->passes > 1 ? fmt::format(", {} passes", coat->passes) : "") +
           (coat->load != core::Load::none ? ", " + std::string(core::word(coat->load)) : "");
  }
  const auto& step = std::get<core::PlannedStep>(item);
  return std::string(core::word(step.step)) + (step.with ? " with " + *step.with : "") +
         (step.kind ? ", " + *step.kind : "");
}

}  // namespace

Answered<api::SheetsAnswer> sheets(Workshop& workshop, const api::NoParams&, Instant) {
  api::SheetsAnswer answer;
  for (const auto& [id, sheet] : workshop.shelf.sheets())
    answer.sheets.push_back(line_of(workshop, id, sheet));
  for (const auto& fault : workshop.shelf.homeless_faults()) {
    api::SheetLine line;
    line.faults.push_back(fault);
    answer.sheets.push_back(std::move(line));
  }
  return answer;
}

Answered<api::SheetShowAnswer> sheet_show(Workshop& workshop, const api::SheetParams& params, Instant now) {
  const auto found = workshop.shelf.find(params.sheet);
  if (!found) return found.error();
  const auto& material = *(*found)->material;
  api::SheetShowAnswer answer;
  answer.sheet = line_of(workshop, material.id, **found);
  answer.date = material.date;
  answer.warnings = (*found)->warnings;
  const auto display = display_of(*workshop.settings);
  Figures figures(answer.figures, display);
  figures.add("stated at",
              core::show(material.reference_temperature, display) +
                  (material.reference_humidity ? ", " + core::show(*material.reference_humidity) : "") +
                  (material.reference_film ? fmt::format(", {:g} µm", material.reference_film->value()) : ""),
              material.reference_where);
  mix_figures(material, figures);
  figures.table("pot life", material.pot_life);
  figures.table("flash-off", material.flash_off);
  figures.table("tack-free", material.tack_free);
  recoat_figures(material, figures);
  figures.table("sandable", material.sandable);
  figures.table("may be picked up", material.handling);
  figures.table("packing", material.packing);
  figures.table("full cure", material.full_cure);
  figures.table("full strength", material.full_strength);
  if (material.apply_least) {
    figures.add("lowest application temperature", core::show(*material.apply_least, display),
                material.application.where);
  }
  if (material.cure_floor)
    figures.add("cure stops below", core::show(*material.cure_floor, display), material.cure.where);
  figures.conditions("application", material.application);
  figures.conditions("cure", material.cure);
  for (const auto& caution : material.cautions)
    answer.cautions.push_back(caution.topic + ": " + caution.text);
  answer.learned = learned_of(workshop, material, now);
  return answer;
}

Answered<api::SchedulesAnswer> schedules(Workshop& workshop, const api::NoParams&, Instant) {
  api::SchedulesAnswer answer;
  for (const auto& [id, schedule] : workshop.shelf.schedules()) {
    api::ScheduleLine line{id.text(), schedule.name, {}};
    for (const auto& item : schedule.items)
      line.items.push_back(item_words(item));
    answer.schedules.push_back(std::move(line));
  }
  return answer;
}

}  // namespace setwell::service
