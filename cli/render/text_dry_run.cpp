#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/text.hpp"
#include "cli/render/when.hpp"

/// A coat that was only asked about.
namespace setwell::cli {
namespace {

constexpr int kWhen = 20;
/// The terminal shows every fourth hour; a program gets all.
constexpr std::size_t kShownEvery = 4;

std::string window_words(const api::StartNow& start, const Reading& reading) {
  if (!start.window) return {};
  const auto& window = *start.window;
  if (window.usable_from) return "; next coat " + reading.stretch(window.usable_from, window.usable_until);
  if (window.sure && window.from) return "; next coat " + reading.stretch(window.from, window.until);
  return {};
}

std::string start_words(const api::StartNow& start, const Reading& reading) {
  auto text = start.fits ? std::string("fits") : "no: " + start.against;
  if (start.air_c) text += "; air " + reading.temperature(*start.air_c);
  if (start.fits) text += window_words(start, reading);
  if (start.chance) text += fmt::format("; {:.0f} % overtaken", 100 * *start.chance);
  return text;
}

void write_start(Page& page, const api::StartNow& start, char mark, const Reading& reading) {
  page.pair(std::string(1, mark) + " " + reading.moment(start.at, core::Minute::next),
            start_words(start, reading), kWhen);
}

void write_tried(Page& page, const api::TriedPiece& tried, const Reading& reading) {
  page.line(page.bold(tried.piece) +
            fmt::format(", coat {}: {} in {}: ", tried.coat, tried.sheet, tried.zone) +
            page.bold(tried.advice));
  page.paragraph(tried.why, 2);
  page.line();
  const auto is_best = [&](const api::StartNow& start) { return tried.best && tried.best->at == start.at; };
  for (std::size_t i = 0; i < tried.starts.size(); ++i) {
    const auto& start = tried.starts[i];
    if (i % kShownEvery == 0 || is_best(start)) write_start(page, start, is_best(start) ? '*' : ' ', reading);
  }
}

}  // namespace

std::string to_text(const api::DryRunAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, quantity::parse_rfc3339(answer.time), look.clock_now);
  write_head(page, answer.rehearsal);
  page.line("Nothing was logged; `*` marks the best start.");
  for (const auto& tried : answer.pieces) {
    page.line();
    write_tried(page, tried, reading);
  }
  if (!answer.said.empty() || !answer.cautions.empty()) page.line();
  for (const auto& sentence : answer.said)
    page.paragraph(sentence);
  for (const auto& caution : answer.cautions)
    page.pair(page.bold("Caution:"), caution, 9);
  return page.text();
}

}  // namespace setwell::cli
