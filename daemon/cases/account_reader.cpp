#include <algorithm>

#include <fmt/format.h>

#include "daemon/cases/parts.hpp"
#include "daemon/sheets/sheet_reader.hpp"
#include "daemon/toml_text/parse.hpp"

namespace setwell::cases {

using quantity::Instant;
using toml_text::Report;
using toml_text::Table;

namespace {

/// A sheet stands in the account itself, or in a file of its own.
std::optional<core::Material> read_material(Table& table, const FileText& files) {
  const auto name = table.text("file");
  if (!name) return sheets::read_sheet_table(table);
  table.done();
  const auto text = files(*name);
  if (!text) {
    table.fault("file", text.error().detail, "a sheet's file beside this one");
    return std::nullopt;
  }
  auto reading = sheets::read_sheet(*text, *name);
  for (const auto& fault : reading.faults)
    table.fault("file", toml_text::describe(fault), "a sheet without faults");
  return std::move(reading.material);
}

void read_sheets(Table& root, Draft& draft, const FileText& files) {
  std::int64_t next = 1;
  for (Table& table : root.tables("sheet")) {
    auto material = read_material(table, files);
    if (!material) continue;
    const quantity::EditionId edition(next++);
    draft.editions[material->id] = edition;
    draft.materials[edition] = std::make_shared<const core::Material>(std::move(*material));
  }
}

std::optional<Expectation> read_expectation(Table& root) {
  auto table = root.table("expect");
  if (!table) return std::nullopt;
  Expectation expected;
  for (const auto& word : table->texts("causes")) {
    const auto causes = core::all_causes();
    const auto cause =
        std::find_if(causes.begin(), causes.end(), [&](core::Cause one) { return core::word(one) == word; });
    if (cause == causes.end()) {
      table->fault("causes", fmt::format("“{}” is no cause", word), "causes of setwell-case(5)");
    } else {
      expected.causes.push_back(*cause);
    }
  }
  expected.settled = table->truth("settled");
  expected.weather = table->text("weather");
  table->done();
  return expected;
}

core::Display read_display(Table& root) {
  core::Display display;
  display.units =
      root.choice<core::Units>("units", {{"C", core::Units::celsius}, {"F", core::Units::fahrenheit}})
          .value_or(core::Units::celsius);
  const auto minutes = root.whole("utc_offset_min", -840, 840).value_or(0);
  if (minutes != 0)
    display.zone =
        quantity::TimeZone(fmt::format("UTC{:+d} min", minutes), std::chrono::minutes(minutes), {});
  return display;
}

void read_head(Table& root, Draft& draft) {
  draft.file.title = root.text("title").value_or("");
  if (!root.has("start")) root.missing("start", "the moment that \"18 h\" counts from");
  draft.start = moment(root, "start", Instant{}).value_or(Instant{});
  if (!root.has("seen"))
    root.missing("seen", "when the coat was looked at, a moment or \"3 d\" after `start`");
  draft.file.now = moment(root, "seen", draft.start).value_or(draft.start);
  draft.file.scale = root.figure("scale", toml_text::mass).value_or(quantity::Grams(1.0));
  draft.file.display = read_display(root);
}

Account finished(Draft& draft, const std::string& piece, std::optional<std::int64_t> coat) {
  Account account;
  account.file = std::move(draft.file);
  account.file.workbook = core::fold(draft.entries);
  account.file.materials = std::move(draft.materials);
  account.file.air = [rooms = draft.rooms](const quantity::ZoneId& zone) -> const core::AirHistory* {
    const auto found = rooms->find(zone);
    return found == rooms->end() ? nullptr : &found->second;
  };
  account.piece = quantity::PieceId(piece);
  if (coat) account.coat = static_cast<int>(*coat);
  return account;
}

}  // namespace

const core::Piece* Account::subject() const {
  for (const auto& one : file.workbook.pieces) {
    if (one.id == piece) return &one;
  }
  return nullptr;
}

void read_surroundings(Table& root, Draft& draft) {
  for (Table& table : root.tables("form")) {
    const quantity::FormId id(table.need_id("id"));
    core::CaseForm form;
    form.area = table.figure("area", toml_text::area);
    if (const auto lag = table.figure("lag", toml_text::hours)) form.lag = *lag;
    table.done();
    draft.file.forms[id] = form;
  }
  for (Table& table : root.tables("rotator")) {
    const Instant at = need_moment(table, "at", draft.start);
    const quantity::ZoneId zone(table.need_id("zone"));
    const auto running = table.choice<bool>("state", {{"running", true}, {"stopped", false}});
    if (!table.has("state")) table.missing("state", "running or stopped");
    draft.add(table, {}, at, core::RotatorChanged{zone, running.value_or(true)});
  }
  for (Table& table : root.tables("opened")) {
    const Instant at = need_moment(table, "at", draft.start);
    core::LotOpened opened{quantity::SheetId(table.need_id("sheet")), table.text("part").value_or(""),
                           table.need_text("lot", "the manufacturer's number")};
    draft.add(table, {}, at, std::move(opened));
  }
}

AccountReading read_account(std::string_view toml, std::string_view file_name, const FileText& files) {
  Report report{std::string(file_name)};
  const auto node = toml_text::parse(toml, report);
  Table root(node, "", report);
  Draft draft;
  read_head(root, draft);
  read_sheets(root, draft, files);
  for (Table& zone : root.tables("zone"))
    read_zone(zone, draft, files);
  read_surroundings(root, draft);
  for (Table& batch : root.tables("batch"))
    read_batch(batch, draft);
  if (!root.has("piece")) root.missing("piece", "[[piece]] with its coats");
  for (Table& piece : root.tables("piece"))
    read_piece(piece, draft);
  const std::string about = root.need_id("about");
  const auto coat = root.whole("coat", 1, 1000);
  auto expected = read_expectation(root);
  root.done();
  AccountReading reading;
  if (report.clean()) {
    auto account = finished(draft, about, coat);
    account.expected = std::move(expected);
    if (account.subject() == nullptr)
      report.fault("about", "names no piece of this account", "the id of a [[piece]]");
    reading.account = std::move(account);
  }
  reading.faults = report.take_faults();
  if (!reading.faults.empty()) reading.account.reset();
  return reading;
}

}  // namespace setwell::cases
