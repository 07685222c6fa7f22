#include "daemon/sheets/schedule_reader.hpp"

#include "daemon/toml_text/parse.hpp"
#include "daemon/toml_text/reader.hpp"

namespace setwell::sheets {
namespace {

using toml_text::Report;
using toml_text::Table;

constexpr int kMostPasses = 20;

std::vector<std::pair<std::string_view, core::Load>> load_words() {
  std::vector<std::pair<std::string_view, core::Load>> words;
  for (const core::Load load :
       {core::Load::none, core::Load::flake, core::Load::glitter, core::Load::pigment}) {
    words.emplace_back(core::word(load), load);
  }
  return words;
}

std::vector<std::pair<std::string_view, core::Step>> step_words() {
  using core::Step;
  std::vector<std::pair<std::string_view, Step>> words;
  for (const Step step : {Step::washed, Step::wiped, Step::sanded, Step::polished, Step::masked,
                          Step::unmasked, Step::decal, Step::flaked, Step::torched, Step::noted}) {
    words.emplace_back(core::word(step), step);
  }
  return words;
}

std::optional<std::string> word_of(Table& table, std::string_view key, std::string_view a,
                                   std::string_view b) {
  return table.choice<std::string>(key, {{a, std::string(a)}, {b, std::string(b)}});
}

core::PlannedCoat read_coat(Table& table) {
  core::PlannedCoat coat;
  coat.sheet = quantity::SheetId(table.need_id("coat"));
  coat.passes = static_cast<int>(table.whole("passes", 1, kMostPasses).value_or(1));
  coat.load = table.choice("load", load_words()).value_or(core::Load::none);
  coat.film = table.figure("film", toml_text::film);
  coat.note = table.text("note").value_or("");
  return coat;
}

core::PlannedStep read_step(Table& table) {
  core::PlannedStep step;
  step.step = table.choice("step", step_words()).value_or(core::Step::noted);
  step.with = word_of(table, "with", "water", "alcohol");
  step.kind = word_of(table, "kind", "vinyl", "water-slide");
  if (auto sheet = table.id("sheet")) step.sheet = quantity::SheetId(std::move(*sheet));
  step.note = table.text("note").value_or("");
  return step;
}

std::optional<core::ScheduleItem> read_item(Table& table) {
  const bool coat = table.has("coat");
  if (coat == table.has("step")) {
    table.fault("", coat ? "both a coat and a step" : "neither a coat nor a step",
                "coat = \"a sheet's id\" or step = \"sanded\"");
    return std::nullopt;
  }
  std::optional<core::ScheduleItem> item;
  if (coat) {
    item = read_coat(table);
  } else {
    item = read_step(table);
  }
  table.done();
  return item;
}

}  // namespace

ScheduleReading read_schedule(std::string_view toml, std::string_view file_name) {
  Report report{std::string(file_name)};
  const auto root = toml_text::parse(toml, report);
  Table table(root, "", report);
  core::Schedule schedule;
  schedule.id = quantity::ScheduleId(table.need_id("id"));
  schedule.name = table.need_text("name", "what the schedule is called at the bench");
  if (!table.has("item")) table.missing("item", "[[item]] with coat or step, once for each");
  for (Table& item : table.tables("item")) {
    if (auto read = read_item(item)) schedule.items.push_back(std::move(*read));
  }
  table.done();
  ScheduleReading reading;
  if (report.clean()) reading.schedule = std::move(schedule);
  reading.faults = report.take_faults();
  return reading;
}

}  // namespace setwell::sheets
