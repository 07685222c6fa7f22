#include <cmath>

#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/piece_text.hpp"
#include "cli/render/text.hpp"

/// Pieces, what was said about them, and what a logging command answers.
namespace setwell::cli {
namespace {

constexpr int kEntryLabel = 26;

std::string give_or_take(double error_s) {
  return error_s < 60 ? "" : fmt::format(" ±{:.0f} min", std::round(error_s / 60));
}

void write_entry(Page& page, const api::EntryNow& entry, const Reading& reading) {
  const auto label = fmt::format("{:>5}  {}", entry.entry, reading.moment(entry.happened));
  auto text = entry.text.empty() ? spoken(entry.kind) : entry.text;
  text += give_or_take(entry.error_s).empty() ? "" : "," + give_or_take(entry.error_s);
  page.pair(label, entry.struck ? "struck: " + text : text, kEntryLabel);
}

void write_logged(Page& page, const api::LoggedEntry& entry, const Reading& reading) {
  std::string text = entry.piece ? *entry.piece + ", " : "";
  text += entry.coat ? fmt::format("coat {}", *entry.coat) : spoken(entry.kind);
  text += ", " + reading.moment(entry.at) + give_or_take(entry.error_s);
  page.pair(fmt::format("entry {}", entry.entry), text, 14);
}

void write_earlier_coats(Page& page, const api::PieceShowAnswer& answer, const Reading& reading) {
  for (const auto& coat : answer.coats) {
    write_title(page, fmt::format("Coat {}: {}", coat.coat.value_or(0), coat.sheet.value_or("")));
    if (!coat.remark.empty()) page.paragraph(coat.remark, 2);
    write_milestones(page, coat, reading);
  }
}

std::string form_words(const api::PieceShowAnswer& answer) {
  std::string text = "form " + answer.form;
  if (answer.schedule) text += ", schedule " + *answer.schedule;
  if (answer.ended) text += ", " + *answer.ended;
  return text;
}

}  // namespace

std::string to_text(const api::PieceShowAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  write_head(page, answer.rehearsal);
  write_piece(page, answer.now, reading);
  page.paragraph(form_words(answer), 14);
  write_surface(page, answer.now, reading);
  if (!answer.now.milestones.empty()) {
    write_title(page, "Milestones of the piece");
    write_milestones(page, answer.now, reading);
  }
  if (answer.coats.size() > 1) write_earlier_coats(page, answer, reading);
  if (!answer.entries.empty()) write_title(page, "Entries");
  for (const auto& entry : answer.entries)
    write_entry(page, entry, reading);
  if (!answer.ahead.empty()) {
    page.line();
    page.paragraph(answer.ahead);
  }
  return page.text();
}

std::string to_text(const api::PiecesAnswer& answer, const Look&) {
  if (answer.pieces.empty()) return "No piece yet; `setwell piece new ID --form FORM` begins one.\n";
  std::vector<std::vector<std::string>> rows;
  for (const auto& piece : answer.pieces) {
    const auto state = piece.ended ? *piece.ended : spoken(piece.verdict.value_or("no coat yet"));
    rows.push_back({piece.piece, piece.form, fmt::format("{}", piece.coats), piece.zone.value_or("-"), state,
                    piece.due.value_or("-")});
  }
  return table({"piece", "form", "coats", "zone", "state", "due"}, rows);
}

std::string to_text(const api::EntriesAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  if (answer.entries.empty()) page.line("Nothing was said about this piece.");
  for (const auto& entry : answer.entries)
    write_entry(page, entry, reading);
  return page.text();
}

std::string to_text(const api::LoggedAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  write_head(page, answer.rehearsal);
  for (const auto& entry : answer.logged)
    write_logged(page, entry, reading);
  for (const auto& sentence : answer.said)
    page.paragraph(sentence);
  for (const auto& caution : answer.cautions)
    page.pair(page.bold("Caution:"), caution, 9);
  if (!answer.pieces.empty()) page.line();
  for (const auto& piece : answer.pieces)
    write_piece(page, piece, reading);
  return page.text();
}

}  // namespace setwell::cli
