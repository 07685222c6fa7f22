#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/id_range.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

/// Making pieces, moving them, and letting them go.
namespace setwell::service {

using core::Entry;
using quantity::Instant;
using quantity::invalid;
using quantity::not_found;
using quantity::refused;
using quantity::Result;

namespace {

Result<std::vector<quantity::PieceId>> new_ids(const Workshop& workshop,
                                               const std::vector<std::string>& names) {
  std::vector<quantity::PieceId> ids;
  for (const auto& name : names) {
    const auto expanded = core::expand_range(name);
    if (!expanded) return expanded.error();
    for (const auto& each : *expanded) {
      const auto id = core::piece_id(each);
      if (!id) return id.error();
      if (workshop.book.workbook().in_progress(*id) != nullptr) {
        return refused(fmt::format("{} is already in progress; choose another id, or ship it first", each));
      }
      if (std::find(ids.begin(), ids.end(), *id) != ids.end()) {
        return refused(fmt::format("{} is named twice", each));
      }
      ids.push_back(*id);
    }
  }
  if (ids.empty()) return invalid("name at least one piece, as fern-07 or fern-01..06");
  return ids;
}

std::string form_list(const settings::Settings& settings) {
  std::string list;
  for (const auto& form : settings.forms)
    list += (list.empty() ? "" : ", ") + form.id.text();
  return list.empty() ? "none is set up" : list;
}

Result<core::PieceMade> piece_made(const Workshop& workshop, const api::PieceNewParams& params) {
  core::PieceMade made{quantity::FormId(params.form), std::nullopt, params.due};
  if (workshop.settings->form(made.form) == nullptr) {
    return not_found(
        fmt::format("there is no form “{}”; forms: {}", params.form, form_list(*workshop.settings)));
  }
  if (params.schedule) {
    made.schedule = quantity::ScheduleId(*params.schedule);
    if (workshop.shelf.schedule(*made.schedule) == nullptr) {
      std::string known;
      for (const auto& [id, schedule] : workshop.shelf.schedules())
        known += (known.empty() ? "" : ", ") + id.text();
      return not_found(fmt::format("there is no schedule “{}”; schedules: {}", *params.schedule,
                                   known.empty() ? "none" : known));
    }
  }
  if (params.due && !quantity::parse_civil(*params.due + "T00:00")) {
    return invalid(fmt::format("due “{}” is no date; type it as 2031-03-28", *params.due));
  }
  return made;
}

/// The coats of a piece that the slow clock has not brought to packing.
std::vector<std::string> short_of_packing(Workshop& workshop, const core::Piece& piece, Instant now) {
  std::vector<std::string> coats;
  const auto display = display_of(*workshop.settings);
  for (const auto& coat : piece.coats) {
    const auto view = view_of(workshop, piece, coat, now);
    if (!view) continue;
    const auto* clock = view->outlook->clock(core::Milestone::packing);
    if (clock == nullptr) clock = view->outlook->clock(core::Milestone::full_cure);
    if (clock == nullptr || clock->reached.slow) continue;
    coats.push_back(fmt::format(
        "{} coat {} ({}) is not surely ready for packing{}", piece.id.text(), coat.number,
        view->material->name,
        clock->at.slow ? ", surely " + core::moment(*clock->at.slow, now, display, core::Minute::next) : ""));
  }
  return coats;
}

/// Takes the retained states of pieces that are gone off the broker: an empty message does that.
void clear_states(Workshop& workshop, const std::vector<quantity::PieceId>& gone) {
  for (const auto& route : workshop.settings->routes) {
    if (route.kind != settings::RouteKind::mqtt) continue;
    for (const auto& id : gone) {
      const auto key = "piece/" + id.text();
      const auto unique = fmt::format("{}/gone/{}", key, quantity::to_ms(workshop.clock_time));
      workshop.ledger.outbox().enqueue({route.id, unique, "", workshop.clock_time, key, std::nullopt});
    }
  }
}

Answered<api::LoggedAnswer> end(Workshop& workshop, const api::EndParams& params, Instant now,
                                core::Ending ending) {
  const auto pieces = pieces_named(workshop, params.pieces);
  if (!pieces) return pieces.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  std::string unready;
  std::vector<Entry> entries;
  for (const auto* piece : *pieces) {
    if (ending == core::Ending::shipped) {
      for (const auto& line : short_of_packing(workshop, *piece, now))
        unready += (unready.empty() ? "" : "; ") + line;
    }
    entries.push_back(entry_of(piece->id, now, *at, core::PieceEnded{ending, params.anyway}));
  }
  if (!unready.empty() && !params.anyway) {
    return refused(unready + ". Wait, or add --anyway to ship all the same");
  }
  std::vector<std::string> said;
  if (!unready.empty()) said.push_back(unready);
  std::vector<quantity::PieceId> gone;
  for (const auto* piece : *pieces)
    gone.push_back(piece->id);
  auto answer = store(workshop, std::move(entries), now, std::move(said));
  if (answer) write(workshop, [&] { clear_states(workshop, gone); });
  return answer;
}

/// `bench`, or `bench/hook-2`: a zone's id has no slash in it.
quantity::Result<core::PieceMoved> moved_to(const Workshop& workshop, const std::string& where) {
  const auto slash = where.find('/');
  const auto zone = zone_named(workshop, where.substr(0, slash), std::nullopt);
  if (!zone) return zone.error();
  if (slash == std::string::npos) return core::PieceMoved{*zone, {}};
  auto place = where.substr(slash + 1);
  const auto& places = workshop.settings->zone(*zone)->places;
  if (std::find(places.begin(), places.end(), place) != places.end())
    return core::PieceMoved{*zone, std::move(place)};
  if (places.empty()) {
    return quantity::not_found(fmt::format(
        "{} has no places in the settings: leave the place out, or list them there as places", zone->text()));
  }
  return quantity::not_found(
      fmt::format("{} has no place “{}”; its places: {}", zone->text(), place, fmt::join(places, ", ")));
}

}  // namespace

Answered<api::LoggedAnswer> piece_new(Workshop& workshop, const api::PieceNewParams& params, Instant now) {
  const auto ids = new_ids(workshop, params.pieces);
  if (!ids) return ids.error();
  const auto made = piece_made(workshop, params);
  if (!made) return made.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  std::vector<Entry> entries;
  for (const auto& id : *ids)
    entries.push_back(entry_of(id, now, *at, *made));
  return store(workshop, std::move(entries), now);
}

Answered<api::LoggedAnswer> move(Workshop& workshop, const api::MoveParams& params, Instant now) {
  const auto pieces = pieces_named(workshop, params.pieces);
  if (!pieces) return pieces.error();
  const auto moved = moved_to(workshop, params.zone);
  if (!moved) return moved.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  std::vector<Entry> entries;
  for (const auto* piece : *pieces)
    entries.push_back(entry_of(piece->id, now, *at, *moved));
  return store(workshop, std::move(entries), now);
}

Answered<api::LoggedAnswer> ship(Workshop& workshop, const api::EndParams& params, Instant now) {
  return end(workshop, params, now, core::Ending::shipped);
}

Answered<api::LoggedAnswer> scrap(Workshop& workshop, const api::EndParams& params, Instant now) {
  return end(workshop, params, now, core::Ending::scrapped);
}

}  // namespace setwell::service
