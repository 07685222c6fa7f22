#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/piece_text.hpp"
#include "cli/render/text.hpp"

/// What is asked for most: the workshop now, its batches and its notices.
namespace setwell::cli {
namespace {

void write_pieces(Page& page, const std::vector<api::PieceNow>& pieces, const Reading& reading) {
  write_title(page, "Pieces");
  if (pieces.empty()) page.line("none in progress; `setwell piece new ID --form FORM` begins one");
  for (const auto& piece : pieces)
    write_piece(page, piece, reading);
}

void write_deliveries(Page& page, const api::NoticeNow& notice) {
  std::string text;
  for (const auto& delivery : notice.deliveries) {
    text += (text.empty() ? "" : "; ") + delivery.route + " " + delivery.state;
    if (delivery.attempts > 1) text += fmt::format(" after {} attempts", delivery.attempts);
  }
  if (!text.empty()) page.paragraph(text, 7);
}

}  // namespace

std::string to_text(const api::NowAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, quantity::parse_rfc3339(answer.time), look.clock_now);
  write_head(page, answer.rehearsal);
  page.line(page.bold("Air") + ", " + reading.moment(answer.time));
  if (answer.zones.empty()) page.line("no zone is set up; add [[zone]] tables to the settings");
  for (const auto& zone : answer.zones)
    write_zone(page, zone, reading);
  write_pieces(page, answer.pieces, reading);
  if (!answer.batches.empty()) write_title(page, "Batches");
  for (const auto& batch : answer.batches)
    write_batch(page, batch, reading);
  if (!answer.notices.empty()) write_title(page, "Notices");
  for (const auto& notice : answer.notices)
    write_notice(page, notice, reading);
  if (!answer.ahead.empty()) {
    page.line();
    page.paragraph(answer.ahead);
  }
  return page.text();
}

std::string to_text(const api::BatchesAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  if (answer.batches.empty()) page.line("No batch yet; `setwell mixed SHEET A B` logs one.");
  for (const auto& batch : answer.batches)
    write_batch(page, batch, reading);
  return page.text();
}

std::string to_text(const api::NoticesAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  if (answer.notices.empty()) page.line("No open notice.");
  for (const auto& notice : answer.notices) {
    write_notice(page, notice, reading);
    write_deliveries(page, notice);
  }
  return page.text();
}

std::string to_text(const api::NoticeTestAnswer& answer, const Look& look) {
  Page page(look.colour);
  if (answer.state == "sent") {
    page.line("Route " + answer.route + ": sent.");
  } else {
    page.line("Route " + answer.route + ": not sent" +
              (answer.error.empty() ? ", nothing has been heard of it yet." : ": " + answer.error + "."));
  }
  return page.text();
}

}  // namespace setwell::cli
