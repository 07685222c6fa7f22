#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/piece_text.hpp"
#include "cli/render/text.hpp"

/// Sheets, schedules, and the state of the daemon.
namespace setwell::cli {
namespace {

constexpr int kPart = 14;

std::string_view word_of(bool ok) {
  return ok ? "ok     " : "fault  ";
}

void write_sheet_line(Page& page, const api::SheetLine& sheet) {
  if (!sheet.sheet.empty()) {
    page.line(page.bold(sheet.sheet) + (sheet.name.empty() ? "" : "  " + sheet.name));
    std::string text = sheet.family;
    if (!sheet.document.empty()) text += ", " + sheet.document;
    if (!sheet.edition.empty()) text += ", edition " + sheet.edition;
    if (sheet.in_use) text += ", in use";
    if (!text.empty()) page.paragraph(text, 2);
  }
  for (const auto& fault : sheet.faults)
    page.pair("  fault", fault, 9);
}

void write_figure(Page& page, const api::SheetFigure& figure) {
  constexpr int kWhat = 40;
  page.pair("  " + figure.what, figure.value + (figure.where.empty() ? "" : "  (" + figure.where + ")"),
            kWhat);
}

void write_learned(Page& page, const api::LearnedNow& learned) {
  const auto top = learned.top && *learned.top != "any" ? " with " + *learned.top : std::string();
  page.paragraph(spoken(learned.name) + top + ": " + learned.text + " (" + learned.acts + ")", 2);
}

void write_status_line(Page& page, const api::StatusLine& line) {
  page.pair(line.part, std::string(word_of(line.ok)) + line.state, kPart);
  if (!line.advice.empty())
    page.paragraph("do: " + line.advice, kPart + static_cast<int>(word_of(true).size()));
}

}  // namespace

std::string to_text(const api::SheetsAnswer& answer, const Look& look) {
  Page page(look.colour);
  if (answer.sheets.empty()) page.line("No sheet yet; put one into sheets/ beside the settings.");
  for (const auto& sheet : answer.sheets)
    write_sheet_line(page, sheet);
  return page.text();
}

std::string to_text(const api::SheetShowAnswer& answer, const Look& look) {
  Page page(look.colour);
  write_sheet_line(page, answer.sheet);
  if (!answer.date.empty()) page.paragraph("dated " + answer.date, 2);
  write_title(page, "As the datasheet states it");
  for (const auto& figure : answer.figures)
    write_figure(page, figure);
  if (!answer.cautions.empty()) write_title(page, "Cautions");
  for (const auto& caution : answer.cautions)
    page.paragraph(caution, 2);
  if (!answer.warnings.empty()) write_title(page, "Taken as it stands, but look at it");
  for (const auto& warning : answer.warnings)
    page.paragraph(warning, 2);
  if (!answer.learned.empty()) write_title(page, "What the touch tests of this shop say");
  for (const auto& learned : answer.learned)
    write_learned(page, learned);
  page.line();
  page.paragraph("The product's own datasheet decides.");
  return page.text();
}

std::string to_text(const api::SchedulesAnswer& answer, const Look& look) {
  Page page(look.colour);
  if (answer.schedules.empty()) page.line("No schedule yet; put one into schedules/ beside the settings.");
  for (const auto& schedule : answer.schedules) {
    page.line(page.bold(schedule.schedule) + (schedule.name.empty() ? "" : "  " + schedule.name));
    int number = 0;
    for (const auto& item : schedule.items)
      page.pair(fmt::format("{:>4}", ++number), item, 6);
  }
  return page.text();
}

std::string to_text(const api::BackupAnswer& answer, const Look& look) {
  Page page(look.colour);
  page.paragraph(fmt::format("Copied {} entries and {} readings, {:.1f} MB, checked, to {}", answer.entries,
                             answer.readings, static_cast<double>(answer.bytes) / 1e6, answer.file));
  return page.text();
}

std::string to_text(const api::StatusAnswer& answer, const Look& look) {
  Page page(look.colour);
  write_head(page, answer.rehearsal);
  for (const auto& line : answer.lines)
    write_status_line(page, line);
  page.pair("messages", fmt::format("       {} taken, {} waiting", answer.taken, answer.waiting), kPart);
  page.line(answer.program + (answer.ok ? ": no fault found" : ": something wants doing"));
  return page.text();
}

}  // namespace setwell::cli
