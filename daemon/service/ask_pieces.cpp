#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/batch_view.hpp"
#include "daemon/service/forecast_view.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/notice_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/zone_view.hpp"

/// `now`, and what is known of pieces and batches.
namespace setwell::service {

using core::Piece;
using quantity::Instant;

namespace {

/// What needs hands first comes first.
int urgency(const std::optional<std::string>& verdict) {
  static constexpr std::string_view kOrder[] = {"recoat",      "touch-test", "sand-first", "no-readings",
                                                "do-not-coat", "wait",       "cured"};
  if (!verdict) return 5;
  const auto at = std::find(std::begin(kOrder), std::end(kOrder), *verdict);
  return static_cast<int>(at - std::begin(kOrder));
}

/// The moment after which the hand is too late, for the order among equals.
std::string deadline(const api::PieceNow& piece) {
  for (const auto& window : piece.recoat) {
    if (window.until) return *window.until;
  }
  return "9999";
}

api::EntryNow entry_now(const Workshop& workshop, const core::Entry& entry) {
  const auto& zone = workshop.settings->workshop.time_zone;
  api::EntryNow shown;
  shown.entry = entry.id.value();
  shown.kind = core::kind_word(entry.body);
  if (!entry.piece.empty()) shown.piece = entry.piece.text();
  shown.said = api::time_text(entry.said, zone);
  shown.happened = api::time_text(entry.happened, zone);
  shown.error_s = quantity::Seconds(entry.error).count();
  shown.struck = workshop.book.struck(entry.id);
  shown.text = api::entry_line(entry, display_of(*workshop.settings));
  return shown;
}

/// The entry with which the piece that bore the id before let it go. Not `made_by`: amended, that is a late
/// one.
quantity::EntryId let_go_before(const Workshop& workshop, const Piece& piece) {
  quantity::EntryId newest(0);
  for (const auto& other : workshop.book.workbook().pieces) {
    if (other.id == piece.id && other.ended && other.ended->id < piece.made_by)
      newest = std::max(newest, other.ended->id);
  }
  return newest;
}

/// What went wrong with a piece may show after it has left, until another bears its id.
bool said_of_a_gone_one(const Workshop& workshop, const Piece& piece, const core::Entry& entry) {
  const auto& pieces = workshop.book.workbook().pieces;
  const bool newest = std::none_of(pieces.begin(), pieces.end(), [&](const Piece& other) {
    return other.id == piece.id && other.made_by > piece.made_by;
  });
  return newest && piece.ended && entry.id > piece.ended->id;
}

/// Entries that name this piece while it bore the id.
std::vector<api::EntryNow> entries_of(const Workshop& workshop, const Piece& piece) {
  const auto after = let_go_before(workshop, piece);
  std::vector<api::EntryNow> shown;
  for (const auto& entry : workshop.book.entries()) {
    const bool mine =
        entry.piece == piece.id && entry.id > after && (!piece.ended || entry.id <= piece.ended->id);
    const bool since = entry.piece == piece.id && said_of_a_gone_one(workshop, piece, entry);
    if (mine || since) shown.push_back(entry_now(workshop, entry));
  }
  return shown;
}

api::PieceLine line_of(Workshop& workshop, const Piece& piece, Instant now) {
  api::PieceLine line;
  line.piece = piece.id.text();
  line.form = piece.made.form.text();
  if (piece.made.schedule) line.schedule = piece.made.schedule->text();
  line.due = piece.made.due;
  line.begun = api::time_text(piece.begun, workshop.settings->workshop.time_zone);
  line.coats = static_cast<int>(piece.coats.size());
  if (const auto zone = zone_of(piece, now)) line.zone = zone->text();
  if (piece.ended) {
    line.ended = core::word(piece.ended->body.ending);
  } else if (!piece.coats.empty()) {
    const auto view = view_of(workshop, piece, piece.coats.back(), now);
    if (view) line.verdict = core::word(view->judgement.verdict);
  }
  return line;
}

}  // namespace

Answered<api::NowAnswer> now_answer(Workshop& workshop, const api::NoParams&, Instant now) {
  api::NowAnswer answer;
  const auto& zone = workshop.settings->workshop.time_zone;
  answer.time = api::time_text(now, zone);
  answer.rehearsal = workshop.rehearsal;
  answer.display = api::from_core(display_of(*workshop.settings));
  answer.ahead = ahead_of_all(workshop);
  for (const auto& each : workshop.settings->zones)
    answer.zones.push_back(zone_now(workshop, each.id, now));
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress()) answer.pieces.push_back(piece_now(workshop, piece, now));
  }
  std::stable_sort(answer.pieces.begin(), answer.pieces.end(), [](const auto& a, const auto& b) {
    const auto ua = urgency(a.verdict);
    const auto ub = urgency(b.verdict);
    return ua != ub ? ua < ub : deadline(a) < deadline(b);
  });
  for (const auto* batch : open_batches(workshop, now))
    answer.batches.push_back(batch_now(workshop, *batch, now));
  answer.notices = open_notices(workshop);
  return answer;
}

Answered<api::PieceShowAnswer> piece_show(Workshop& workshop, const api::PieceParams& params, Instant now) {
  const auto found = piece_ever(workshop, params.piece);
  if (!found) return found.error();
  const Piece& piece = **found;
  api::PieceShowAnswer answer;
  answer.rehearsal = workshop.rehearsal;
  answer.form = piece.made.form.text();
  if (piece.made.schedule) answer.schedule = piece.made.schedule->text();
  answer.ahead = ahead_of_all(workshop);
  answer.display = api::from_core(display_of(*workshop.settings));
  answer.entries = entries_of(workshop, piece);
  if (piece.ended) {
    answer.ended = core::word(piece.ended->body.ending);
    answer.now.piece = piece.id.text();
    return answer;
  }
  answer.now = piece_now(workshop, piece, now);
  for (const auto& coat : piece.coats)
    answer.coats.push_back(coat_now(workshop, piece, coat, now));
  return answer;
}

Answered<api::PiecesAnswer> pieces(Workshop& workshop, const api::PiecesParams& params, Instant now) {
  api::PiecesAnswer answer;
  answer.display = api::from_core(display_of(*workshop.settings));
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (params.all || piece.in_progress()) answer.pieces.push_back(line_of(workshop, piece, now));
  }
  return answer;
}

Answered<api::EntriesAnswer> entries(Workshop& workshop, const api::PieceParams& params, Instant) {
  const auto piece = piece_ever(workshop, params.piece);
  if (!piece) return piece.error();
  api::EntriesAnswer answer;
  answer.display = api::from_core(display_of(*workshop.settings));
  answer.entries = entries_of(workshop, **piece);
  return answer;
}

Answered<api::BatchesAnswer> batches(Workshop& workshop, const api::NoParams&, Instant now) {
  api::BatchesAnswer answer;
  answer.display = api::from_core(display_of(*workshop.settings));
  const auto& all = workshop.book.workbook().batches;
  for (auto batch = all.rbegin(); batch != all.rend(); ++batch)
    answer.batches.push_back(batch_now(workshop, *batch, now));
  return answer;
}

}  // namespace setwell::service
