#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/unfit_air.hpp"
#include "daemon/service/batch_view.hpp"
#include "daemon/service/coat_remarks.hpp"
#include "daemon/service/coat_request.hpp"
#include "daemon/service/forecast_view.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/piece_view.hpp"

/// Coats and batches.
namespace setwell::service {

using core::Entry;
using quantity::Instant;
using quantity::invalid;
using quantity::refused;
using quantity::Result;

namespace {

/// A warning for a piece whose coat below was not surely open.
std::optional<std::string> over_unready(Workshop& workshop, const core::Piece& piece, Instant at,
                                        Instant now) {
  if (piece.coats.empty() || piece.coats.back().happened >= at) return std::nullopt;
  const auto view = view_of(workshop, piece, piece.coats.back(), now);
  if (!view || view->judgement.verdict == core::Verdict::recoat) return std::nullopt;
  const auto& windows = view->judgement.windows;
  const auto display = display_of(*workshop.settings);
  if (!view->unfit_air.empty()) {
    return fmt::format("{}: this air is outside limits of the sheet ({}). Logged all the same",
                       piece.id.text(), core::unfit_words(view->unfit_air, display));
  }
  std::string sure;
  if (!windows.empty() && windows.front().sure && windows.front().from && *windows.front().from > now) {
    sure = "; surely open " + core::moment(*windows.front().from, now, display, core::Minute::next);
  }
  return fmt::format(
      "{}: coat {} under it is not surely ready for it ({}{}). Logged all the same; `setwell "
      "entries {}` shows how to take it back",
      piece.id.text(), piece.coats.back().number, core::word(view->judgement.verdict), sure, piece.id.text());
}

quantity::BatchId next_batch_id(const Workshop& workshop, Instant at) {
  const auto local = workshop.settings->workshop.time_zone.to_local(at);
  const std::chrono::year_month_day date(std::chrono::floor<std::chrono::days>(local));
  const auto stem =
      fmt::format("b{:02}{:02}-", static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  for (int n = 1;; ++n) {
    const quantity::BatchId id(stem + std::to_string(n));
    if (workshop.book.workbook().batch(id) == nullptr) return id;
  }
}

Result<core::BatchMixed> batch_mixed(const Workshop& workshop, const api::MixedParams& params,
                                     const ShelvedSheet& sheet, Instant at) {
  const auto a = quantity::Grams::from(params.part_a_g);
  const auto b = quantity::Grams::from(params.part_b_g);
  if (!a || !b) return invalid("both parts take grams, more than 0, as `setwell mixed SHEET 20 17.4`");
  const auto zone = zone_named(workshop, params.zone, std::nullopt);
  if (!zone) return zone.error();
  const auto resin = temperature_said(workshop, params.resin_temperature, "--resin-temp");
  if (!resin) return resin.error();
  const auto pot = core::pot_from(params.pot.value_or("cup"));
  if (!pot) return invalid(fmt::format("--pot “{}” is not known; cup, tray or insulated", *params.pot));
  core::BatchMixed made;
  made.batch = next_batch_id(workshop, at);
  made.sheet = sheet.material->id;
  made.edition = sheet.edition;
  made.zone = *zone;
  made.part_a = *a;
  made.part_b = *b;
  made.resin_temperature = *resin;
  made.pot = *pot;
  made.lot_a = params.lot_a;
  made.lot_b = params.lot_b;
  if (params.stirred_min) made.stirred = quantity::Minutes(*params.stirred_min);
  return made;
}

/// Pieces that lie together hear of the night once.
void tell_night(Workshop& workshop, const std::vector<quantity::PieceId>& coated, Instant now,
                std::vector<std::string>& said) {
  for (const auto& id : coated) {
    const auto* piece = workshop.book.workbook().in_progress(id);
    if (piece == nullptr) continue;
    auto words = night_words(workshop, *piece, now);
    if (!words.empty() && std::find(said.begin(), said.end(), words) == said.end())
      said.push_back(std::move(words));
  }
}

}  // namespace

Answered<api::LoggedAnswer> coat(Workshop& workshop, const api::CoatParams& params, Instant now) {
  const auto said = time_said(workshop, params.at, now);
  if (!said) return said.error();
  // A coat logged late was poured from what was open then.
  const auto what = poured(workshop, params.what, said->to);
  if (!what) return what.error();
  const auto named = split_grams(params.pieces);
  if (!named) return named.error();
  const auto pieces = pieces_named(workshop, named->names);
  if (!pieces) return pieces.error();
  auto made = coat_made(workshop, params, *what);
  if (!made) return made.error();
  std::vector<Entry> entries;
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < pieces->size(); ++i) {
    const auto& piece = *(*pieces)[i];
    const auto zone = coat_zone(workshop, params, piece, *what, said->to);
    if (!zone) return zone.error();
    const auto at = time_of_piece(*said, i, pieces->size(), made->passes);
    auto mine = *made;
    mine.zone = *zone;
    mine.grams = grams_of(workshop, *named, piece);
    mine.first_pass = at.from;
    mine.last_pass = at.to;
    for (auto& line : coat_remarks(workshop, {&piece, what->sheet->material.get(), &mine})) {
      if (std::find(lines.begin(), lines.end(), line) == lines.end()) lines.push_back(std::move(line));
    }
    if (auto warning = over_unready(workshop, piece, at.to, now)) lines.push_back(*warning);
    entries.push_back(entry_of(piece.id, now, at, mine));
  }
  if (what->batch != nullptr) {
    for (auto& line : pot_life_remarks(workshop, *what->batch, said->from, said->to, now))
      lines.push_back(std::move(line));
  }
  std::vector<quantity::PieceId> coated;
  for (const auto& entry : entries)
    coated.push_back(entry.piece);
  auto answer = store(workshop, std::move(entries), now, std::move(lines),
                      cautions_of(*what->sheet->material, coat_topics(*what->sheet->material)));
  if (answer) tell_night(workshop, coated, now, answer->said);
  return answer;
}

Answered<api::LoggedAnswer> mixed(Workshop& workshop, const api::MixedParams& params, Instant now) {
  const auto sheet = workshop.shelf.find(params.sheet);
  if (!sheet) return sheet.error();
  const auto& material = *(*sheet)->material;
  if (!material.mix) {
    return refused(
        fmt::format("{} is no two-part material by its sheet; log the coat itself", material.id.text()));
  }
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  const auto made = batch_mixed(workshop, params, **sheet, at->from);
  if (!made) return made.error();
  core::TimePhrase begun = *at;
  begun.to = begun.from;  // the pot's clock runs from when mixing began
  auto answer = store(workshop, {entry_of({}, now, begun, *made)}, now, {},
                      cautions_of(material, {"skin", "breathing", "heat"}));
  if (!answer) return answer;
  const auto* batch = workshop.book.workbook().batch(made->batch);
  for (auto& line : mixed_remarks(workshop, *batch, now))
    answer->said.push_back(std::move(line));
  return answer;
}

Answered<api::LoggedAnswer> opened(Workshop& workshop, const api::OpenedParams& params, Instant now) {
  const auto sheet = workshop.shelf.find(params.sheet);
  if (!sheet) return sheet.error();
  const auto part = params.part.value_or("");
  if (!part.empty() && part != "a" && part != "b") return invalid("--part takes a or b");
  if (params.lot.empty()) return invalid("--lot takes the number on the can or bottle");
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  return store(workshop, {entry_of({}, now, *at, core::LotOpened{(*sheet)->material->id, part, params.lot})},
               now);
}

}  // namespace setwell::service
