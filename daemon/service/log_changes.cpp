#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

/// Putting right what was said: striking and replacing entries.
namespace setwell::service {

using core::Entry;
using quantity::Instant;
using quantity::not_found;
using quantity::refused;
using quantity::Result;

namespace {

Result<const Entry*> standing_entry(const Workshop& workshop, std::int64_t number) {
  const quantity::EntryId id(number);
  const auto* entry = workshop.book.entry(id);
  if (entry == nullptr) {
    return not_found(fmt::format("there is no entry {}; `setwell entries PIECE` lists them", number));
  }
  if (workshop.book.struck(id)) return refused(fmt::format("entry {} is struck already", number));
  if (std::holds_alternative<core::Struck>(entry->body)) {
    return refused(
        fmt::format("entry {} is itself a correction; say what is right with a new entry", number));
  }
  return entry;
}

Entry strike_of(const Entry& entry, Instant now) {
  Entry strike;
  strike.piece = entry.piece;
  strike.said = now;
  strike.happened = now;
  strike.body = core::Struck{entry.id};
  return strike;
}

Entry moved(const Entry& entry, const core::TimePhrase& at, Instant now) {
  Entry replaced = entry_of(entry.piece, now, at, entry.body);
  if (auto* coat = std::get_if<core::CoatMade>(&replaced.body)) {
    // One moment keeps the coat's own passes apart as they were; a span says both ends.
    const auto width = at.from == at.to ? coat->last_pass - coat->first_pass : at.to - at.from;
    coat->first_pass = at.to - width;
    coat->last_pass = at.to;
  }
  return replaced;
}

/// Sets a coat's minutes under the lamp, or says why that cannot be.
std::optional<quantity::Error> lamp_amended(Workshop& workshop, double minutes, Entry& replaced) {
  auto* coat = std::get_if<core::CoatMade>(&replaced.body);
  const auto material = coat != nullptr ? workshop.shelf.edition(coat->edition, workshop.ledger) : nullptr;
  if (!material || material->family != core::Family::light_cured)
    return quantity::invalid("--lamp is for a coat of a light-cured material");
  if (!(minutes > 0 && minutes < 1000)) return quantity::invalid("--lamp takes minutes, more than 0");
  coat->lamp = quantity::Minutes(minutes);
  return std::nullopt;
}

/// Would later entries lose the piece or batch they are about?
std::optional<std::string> depends_on(const Workshop& workshop, const Entry& entry) {
  if (std::holds_alternative<core::PieceMade>(entry.body)) {
    const auto& pieces = workshop.book.workbook().pieces;
    const auto made = std::find_if(pieces.begin(), pieces.end(),
                                   [&](const core::Piece& piece) { return piece.made_by == entry.id; });
    if (made != pieces.end() && !(made->coats.empty() && made->steps.empty() && made->touches.empty())) {
      return fmt::format("{} has coats or steps; `setwell scrap {}` lets it go and keeps its record",
                         entry.piece.text(), entry.piece.text());
    }
  }
  if (std::holds_alternative<core::PieceEnded>(entry.body) &&
      workshop.book.workbook().in_progress(entry.piece) != nullptr) {
    return fmt::format("another piece bears the id {} by now", entry.piece.text());
  }
  if (const auto* mixed = std::get_if<core::BatchMixed>(&entry.body)) {
    for (const auto& piece : workshop.book.workbook().pieces) {
      for (const auto& coat : piece.coats) {
        if (coat.made.batch == mixed->batch) {
          return fmt::format("{} coat {} was poured from {}; undo entry {} first", piece.id.text(),
                             coat.number, mixed->batch.text(), coat.id.value());
        }
      }
    }
  }
  return std::nullopt;
}

}  // namespace

Answered<api::LoggedAnswer> undo(Workshop& workshop, const api::UndoParams& params, Instant now) {
  const auto entry = standing_entry(workshop, params.entry);
  if (!entry) return entry.error();
  if (const auto reason = depends_on(workshop, **entry)) {
    return refused(fmt::format("entry {} cannot be taken back: {}", params.entry, *reason));
  }
  auto said = fmt::format("Struck: entry {} ({}).", params.entry,
                          api::entry_line(**entry, display_of(*workshop.settings)));
  return store(workshop, {strike_of(**entry, now)}, now, {std::move(said)});
}

Answered<api::LoggedAnswer> amend(Workshop& workshop, const api::AmendParams& params, Instant now) {
  const auto entry = standing_entry(workshop, params.entry);
  if (!entry) return entry.error();
  if (!params.at && !params.lamp_min)
    return quantity::invalid("what is to be put right? --at takes the right time, --lamp the minutes in all");
  Entry replaced = **entry;
  replaced.said = now;
  if (params.at) {
    const auto at = time_said(workshop, params.at, now);
    if (!at) return at.error();
    replaced = moved(**entry, *at, now);
  }
  if (params.lamp_min) {
    if (const auto wrong = lamp_amended(workshop, *params.lamp_min, replaced)) return *wrong;
  }
  const auto display = display_of(*workshop.settings);
  auto said =
      fmt::format("Entry {} is replaced: {}, now {}{}.", params.entry, api::entry_line(**entry, display),
                  core::moment(replaced.happened, now, display),
                  params.lamp_min ? fmt::format(", {:g} min under the lamp in all", *params.lamp_min) : "");
  return store(workshop, {strike_of(**entry, now), std::move(replaced)}, now, {std::move(said)});
}

Answered<api::LoggedAnswer> seen(Workshop& workshop, const api::SeenParams& params, Instant now) {
  if (!workshop.ledger.notice(params.notice)) {
    return not_found(fmt::format("there is no notice {}; `setwell notices` lists them", params.notice));
  }
  const core::TimePhrase at{now, now, quantity::Span(0)};
  return store(workshop, {entry_of({}, now, at, core::NoticeSeen{params.notice})}, now, {}, {},
               [&] { (void)workshop.ledger.mark_seen(params.notice, now); });
}

}  // namespace setwell::service
