#include "daemon/service/logging.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/id_range.hpp"
#include "daemon/service/clock_watch.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

namespace setwell::service {

using core::Entry;
using core::Piece;
using quantity::Instant;
using quantity::invalid;
using quantity::not_found;
using quantity::Result;

namespace {

bool gone(const core::Workbook& workbook, const std::string& name) {
  return std::any_of(workbook.pieces.begin(), workbook.pieces.end(),
                     [&](const Piece& piece) { return piece.id.text() == name && !piece.in_progress(); });
}

std::string zone_list(const settings::Settings& settings) {
  std::string list;
  for (const auto& zone : settings.zones)
    list += (list.empty() ? "" : ", ") + zone.id.text();
  return list.empty() ? "none is set up" : list;
}

api::LoggedEntry logged(const Workshop& workshop, const Entry& entry) {
  api::LoggedEntry shown;
  shown.entry = entry.id.value();
  shown.kind = core::kind_word(entry.body);
  if (!entry.piece.empty()) shown.piece = entry.piece.text();
  shown.at = api::time_text(entry.happened, workshop.settings->workshop.time_zone);
  shown.error_s = quantity::Seconds(entry.error).count();
  const auto* piece = workshop.book.workbook().in_progress(entry.piece);
  if (piece == nullptr) return shown;
  for (const auto& coat : piece->coats) {
    if (coat.id == entry.id) shown.coat = coat.number;
  }
  return shown;
}

}  // namespace

Result<std::vector<const Piece*>> pieces_named(const Workshop& workshop,
                                               const std::vector<std::string>& names) {
  const auto& workbook = workshop.book.workbook();
  std::vector<quantity::PieceId> in_progress;
  for (const auto& piece : workbook.pieces) {
    if (piece.in_progress()) in_progress.push_back(piece.id);
  }
  const auto ids = core::resolve_pieces(names, in_progress);
  if (!ids) {
    if (names.size() == 1 && gone(workbook, names.front())) {
      return not_found(fmt::format("{} is gone (shipped or scrapped); `setwell piece show {}` still shows it",
                                   names.front(), names.front()));
    }
    return ids.error();
  }
  std::vector<const Piece*> pieces;
  for (const auto& id : *ids)
    pieces.push_back(workbook.in_progress(id));
  return pieces;
}

Result<const Piece*> piece_ever(const Workshop& workshop, const std::string& name) {
  const auto in_progress = pieces_named(workshop, {name});
  if (in_progress) {
    if (in_progress->size() != 1) return quantity::invalid("name one piece, not a range");
    return in_progress->front();
  }
  const auto& pieces = workshop.book.workbook().pieces;
  for (auto piece = pieces.rbegin(); piece != pieces.rend(); ++piece) {
    if (piece->id.text() == name) return &*piece;
  }
  return in_progress.error();
}

Result<core::TimePhrase> time_said(const Workshop& workshop, const std::optional<std::string>& at,
                                   Instant now) {
  return core::read_time(at.value_or(""), now, workshop.settings->workshop.time_zone, core::Ahead::refused);
}

Result<quantity::ZoneId> zone_named(const Workshop& workshop, const std::optional<std::string>& name,
                                    std::optional<quantity::ZoneId> otherwise) {
  const auto& zones = workshop.settings->zones;
  if (name) {
    const quantity::ZoneId id(*name);
    if (workshop.settings->zone(id) != nullptr) return id;
    return not_found(fmt::format("there is no zone “{}”; zones: {}", *name, zone_list(*workshop.settings)));
  }
  if (otherwise) return *otherwise;
  if (zones.size() == 1) return zones.front().id;
  return quantity::refused(
      fmt::format("in which zone? Add --zone with one of: {}", zone_list(*workshop.settings)));
}

Result<std::optional<quantity::Celsius>> temperature_said(const Workshop& workshop,
                                                          const std::optional<std::string>& text,
                                                          std::string_view what) {
  if (!text) return std::optional<quantity::Celsius>();
  double value = 0;
  const auto* end = text->data() + text->size();
  const auto [rest, error] = std::from_chars(text->data(), end, value);
  std::string_view unit(rest, static_cast<std::size_t>(end - rest));
  while (unit.starts_with(' ') || unit.starts_with("°"))
    unit.remove_prefix(unit.starts_with(' ') ? 1 : std::string_view("°").size());
  const bool fahrenheit =
      unit == "F" || unit == "f" ||
      (unit.empty() && workshop.settings->workshop.temperature == settings::TemperatureUnit::fahrenheit);
  const bool known = unit.empty() || unit == "F" || unit == "f" || unit == "C" || unit == "c";
  const auto read = fahrenheit ? quantity::Celsius::from_fahrenheit(value) : quantity::Celsius::from(value);
  // Nothing a workshop does happens outside this; a slip of the finger does.
  const bool plausible = read && read->degrees() > -50 && read->degrees() < 150;
  if (error != std::errc{} || !known || !plausible) {
    return invalid(fmt::format("{} “{}” is no temperature; type it as 8C or 46F", what, *text));
  }
  return std::optional<quantity::Celsius>(*read);
}

Entry entry_of(const quantity::PieceId& piece, Instant now, const core::TimePhrase& at,
               core::EntryBody body) {
  Entry entry;
  entry.piece = piece;
  entry.said = now;
  entry.happened = at.to;
  entry.error = at.error;
  entry.body = std::move(body);
  return entry;
}

Answered<api::LoggedAnswer> store(Workshop& workshop, std::vector<Entry> entries, Instant now,
                                  std::vector<std::string> said, std::vector<std::string> cautions,
                                  const std::function<void()>& also) {
  if (clock_unset(workshop, now)) return quantity::refused(clock_unset_words(workshop, now));
  std::vector<quantity::EntryId> ids;
  write(workshop, [&] {
    if (also) also();
    ids = workshop.book.add(workshop.ledger, std::move(entries));
    entries_changed(workshop);
  });
  api::LoggedAnswer answer;
  answer.rehearsal = workshop.rehearsal;
  answer.said = std::move(said);
  answer.cautions = std::move(cautions);
  answer.display = api::from_core(display_of(*workshop.settings));
  std::vector<quantity::PieceId> about;
  for (const auto id : ids) {
    const auto* entry = workshop.book.entry(id);
    answer.logged.push_back(logged(workshop, *entry));
    const bool fresh = std::find(about.begin(), about.end(), entry->piece) == about.end();
    if (!entry->piece.empty() && fresh) about.push_back(entry->piece);
  }
  for (const auto& id : about) {
    const auto* piece = workshop.book.workbook().in_progress(id);
    if (piece != nullptr) answer.pieces.push_back(piece_now(workshop, *piece, now));
  }
  return answer;
}

std::vector<std::string> cautions_of(const core::Material& material,
                                     const std::vector<std::string_view>& topics) {
  std::vector<std::string> texts;
  for (const auto& caution : material.cautions) {
    const bool wanted = std::find(topics.begin(), topics.end(), caution.topic) != topics.end();
    if (wanted && std::find(texts.begin(), texts.end(), caution.text) == texts.end())
      texts.push_back(caution.text);
  }
  return texts;
}

}  // namespace setwell::service
