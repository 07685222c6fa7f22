#include <algorithm>

#include <fmt/format.h>

#include "daemon/cases/parts.hpp"

/// Batches, pieces, and what was said about them.
namespace setwell::cases {

using quantity::Instant;
using toml_text::Table;

namespace {

constexpr quantity::Span kTyped = std::chrono::minutes(5);

template <typename Value, typename From>
std::optional<Value> need_word(Table& table, std::string_view key, From from, std::string_view right) {
  const auto text = table.need_text(key, right);
  const auto value = from(text);
  if (!value && !text.empty()) table.fault(key, fmt::format("“{}” is not known", text), std::string(right));
  return value;
}

core::Load load_of(Table& table) {
  const auto text = table.text("load");
  if (!text) return core::Load::none;
  const auto load = core::load_from(*text);
  if (!load) table.fault("load", "is not known", "flake, glitter or pigment");
  return load.value_or(core::Load::none);
}

void read_coat(Table& table, const std::string& piece, Draft& draft) {
  core::CoatMade made;
  made.sheet = quantity::SheetId(table.need_id("sheet"));
  made.edition = draft.edition(made.sheet);
  made.zone = quantity::ZoneId(table.need_id("zone"));
  const Instant at = need_moment(table, "at", draft.start);
  made.first_pass = at;
  made.last_pass = moment(table, "to", draft.start).value_or(at);
  if (made.last_pass < at) table.fault("to", "is before `at`", "the last pass");
  if (auto batch = table.id("batch")) made.batch = quantity::BatchId(std::move(*batch));
  made.grams = table.figure("grams", toml_text::mass);
  made.film = table.figure("film", toml_text::film);
  made.passes = static_cast<int>(table.whole("passes", 1, 20).value_or(1));
  made.load = load_of(table);
  made.piece_from = table.figure("piece_from", toml_text::celsius);
  made.resin_temperature = table.figure("resin", toml_text::celsius);
  made.lot = table.text("lot");
  if (const auto lamp = table.figure("lamp", toml_text::hours)) made.lamp = *lamp;
  const Instant done = made.last_pass;
  draft.add(table, piece, done, std::move(made));
}

void read_step(Table& table, const std::string& piece, Draft& draft) {
  core::StepDone done;
  const Instant at = need_moment(table, "at", draft.start);
  done.step = need_word<core::Step>(table, "step", core::step_from,
                                    "washed wiped sanded polished masked unmasked decal flaked torched noted")
                  .value_or(core::Step::noted);
  done.with = table.text("with");
  done.kind = table.text("kind");
  done.text = table.text("text");
  if (auto sheet = table.id("sheet")) {
    done.sheet = quantity::SheetId(std::move(*sheet));
    done.edition = draft.edition(*done.sheet);
  }
  draft.add(table, piece, at, std::move(done));
}

void read_noted(Table& table, const std::string& piece, Draft& draft) {
  core::StepDone done;
  const Instant at = moment(table, "at", draft.start).value_or(draft.file.now);
  done.kind = table.need_text("saw", "an observation of setwell-case(5), as washes-off or not-washes-off");
  if (!done.kind->empty() && !core::noticed_from(*done.kind))
    table.fault("saw", "is no observation", "one of setwell-case(5), as washes-off or not-washes-off");
  done.text = table.text("text").value_or(*done.kind);
  draft.add(table, piece, at, std::move(done));
}

void read_touch(Table& table, const std::string& piece, Draft& draft,
                const std::optional<quantity::BatchId>& witness) {
  const Instant at = need_moment(table, "at", draft.start);
  const auto touch =
      need_word<core::Touch>(table, "word", core::touch_from, "wet strings tacky firm hard gums powders");
  draft.add(table, piece, at, core::TouchTested{touch.value_or(core::Touch::wet), witness});
}

void read_defect(Table& table, const std::string& piece, Draft& draft) {
  core::DefectSeen seen;
  const Instant at = moment(table, "at", draft.start).value_or(draft.file.now);
  seen.signs = table.texts("signs");
  if (seen.signs.empty()) table.missing("signs", "a list as [\"soft\", \"greasy\"]");
  for (const auto& sign : seen.signs) {
    if (!core::sign_from(sign))
      table.fault("signs", fmt::format("“{}” is no sign", sign), "signs of setwell-case(5)");
  }
  if (const auto coat = table.whole("coat", 1, 1000)) seen.coat = static_cast<int>(*coat);
  seen.where = table.text("where");
  draft.add(table, piece, at, std::move(seen));
}

void read_rest(Table& table, const std::string& piece, Draft& draft) {
  for (Table& moved : table.tables("moved")) {
    const Instant at = need_moment(moved, "at", draft.start);
    draft.add(moved, piece, at, core::PieceMoved{quantity::ZoneId(moved.need_id("zone"))});
  }
  for (Table& surface : table.tables("surface")) {
    core::HandReading reading;
    const Instant at = need_moment(surface, "at", draft.start);
    reading.surface = surface.figure("temperature", toml_text::celsius);
    if (!reading.surface) surface.missing("temperature", "\"14 C\"");
    draft.add(surface, piece, at, reading);
  }
  for (Table& ended : table.tables("ended")) {
    const Instant at = need_moment(ended, "at", draft.start);
    const auto ending = need_word<core::Ending>(ended, "how", core::ending_from, "shipped or scrapped");
    draft.add(ended, piece, at, core::PieceEnded{ending.value_or(core::Ending::shipped), true});
  }
}

}  // namespace

void Draft::add(Table& table, const std::string& piece, Instant at, core::EntryBody body) {
  core::Entry entry;
  entry.id = quantity::EntryId(static_cast<std::int64_t>(entries.size()) + 1);
  entry.piece = quantity::PieceId(piece);
  entry.happened = at;
  entry.said = std::max(at, file.now);
  entry.error = span(table, "error").value_or(kTyped);
  entry.body = std::move(body);
  const bool struck = table.truth("struck").value_or(false);
  table.done();
  entries.push_back(entry);
  if (!struck) return;
  core::Entry strike = entry;
  strike.id = quantity::EntryId(entry.id.value() + 1);
  strike.body = core::Struck{entry.id};
  entries.push_back(std::move(strike));
}

quantity::EditionId Draft::edition(const quantity::SheetId& sheet) const {
  const auto found = editions.find(sheet);
  return found == editions.end() ? quantity::EditionId(0) : found->second;
}

void read_batch(Table& table, Draft& draft) {
  core::BatchMixed mixed;
  mixed.batch = quantity::BatchId(table.need_id("id"));
  mixed.sheet = quantity::SheetId(table.need_id("sheet"));
  mixed.edition = draft.edition(mixed.sheet);
  mixed.zone = quantity::ZoneId(table.need_id("zone"));
  const Instant at = need_moment(table, "at", draft.start);
  const auto a = table.figure("a", toml_text::mass), b = table.figure("b", toml_text::mass);
  if (a && b) {
    mixed.part_a = *a;
    mixed.part_b = *b;
  } else {
    draft.file.unweighed.insert(mixed.batch);
  }
  mixed.resin_temperature = table.figure("resin", toml_text::celsius);
  const std::vector<std::pair<std::string_view, core::Pot>> pots{
      {"cup", core::Pot::cup}, {"tray", core::Pot::tray}, {"insulated", core::Pot::insulated}};
  mixed.pot = table.choice("pot", pots).value_or(core::Pot::cup);
  mixed.lot_a = table.text("lot_a");
  mixed.lot_b = table.text("lot_b");
  if (const auto stirred = table.figure("stirred", toml_text::hours)) mixed.stirred = *stirred;
  for (Table& touch : table.tables("witness"))
    read_touch(touch, {}, draft, mixed.batch);
  draft.add(table, {}, at, std::move(mixed));
}

void read_piece(Table& table, Draft& draft) {
  const std::string id = table.need_id("id");
  core::PieceMade made;
  if (auto form = table.id("form")) made.form = quantity::FormId(std::move(*form));
  constexpr auto kLongBefore = std::chrono::days(3660);
  core::Entry begun;
  begun.id = quantity::EntryId(static_cast<std::int64_t>(draft.entries.size()) + 1);
  begun.piece = quantity::PieceId(id);
  begun.happened = draft.start - kLongBefore;
  begun.said = draft.file.now;
  begun.body = made;
  draft.entries.push_back(std::move(begun));
  for (Table& coat : table.tables("coat"))
    read_coat(coat, id, draft);
  for (Table& step : table.tables("step"))
    read_step(step, id, draft);
  for (Table& noted : table.tables("noted"))
    read_noted(noted, id, draft);
  for (Table& touch : table.tables("touch"))
    read_touch(touch, id, draft, std::nullopt);
  for (Table& defect : table.tables("defect"))
    read_defect(defect, id, draft);
  read_rest(table, id, draft);
  table.done();
}

}  // namespace setwell::cases
