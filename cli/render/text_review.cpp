#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/text.hpp"
#include "cli/render/when.hpp"
#include "daemon/api/messages/review.hpp"

/// Looking back in the terminal: facts first, then causes.
namespace setwell::cli {
namespace {

constexpr int kTopic = 15, kMark = 7;

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words)
    text += (text.empty() ? "" : ", ") + word;
  return text;
}

void write_facts(Page& page, const api::ReviewAnswer& answer, const Reading& reading) {
  write_title(page, "Facts");
  std::string last;
  for (const auto& fact : answer.facts) {
    page.pair(fact.topic == last ? "" : fact.topic, fact.text, kTopic);
    last = fact.topic;
  }
  write_title(page, "Events");
  int number = 0;
  for (const auto& event : answer.events)
    page.pair(fmt::format("{:>4}", ++number), reading.moment(event.at) + "  " + event.text, 6);
  if (answer.absent.empty()) return;
  write_title(page, "What the record lacks");
  for (const auto& line : answer.absent)
    page.paragraph(line, 2);
}

void write_cause(Page& page, const api::ReviewCause& cause) {
  page.line(fmt::format("{}. {}", cause.level, page.bold(cause.cause)));
  page.paragraph(cause.meaning, 3);
  for (const auto& line : cause.for_)
    page.pair("   +", line, kMark);
  for (const auto& line : cause.against)
    page.pair("   -", line, kMark);
  if (!cause.missing.empty()) page.pair("   ?", "not known: " + joined(cause.missing), kMark);
}

void write_remedies(Page& page, const api::ReviewAnswer& answer) {
  write_title(page, "The usual remedy, in order");
  for (const auto& cause : answer.causes) {
    if (cause.level > 1) break;
    if (!answer.settled) page.line(cause.cause + ":");
    int number = 0;
    for (const auto& step : cause.remedies)
      page.pair(fmt::format("{:>4}", ++number), step, 6);
  }
  write_title(page, "Cautions");
  for (const auto& caution : answer.cautions)
    page.paragraph(caution, 2);
}

}  // namespace

std::string to_text(const api::ReviewAnswer& answer, const Look& look) {
  Page page(look.colour);
  write_head(page, answer.rehearsal);
  const Reading reading(answer.display, quantity::parse_rfc3339(answer.time), look.clock_now);
  page.line(page.bold(fmt::format("{}, coat {}", answer.piece, answer.coat)) + "  " + answer.sheet);
  if (!answer.title.empty()) page.paragraph(answer.title, 2);
  if (!answer.signs.empty())
    page.paragraph(
        "seen: " + joined(answer.signs) + (answer.where.empty() ? "" : "; " + joined(answer.where)), 2);
  if (!answer.photos.empty()) page.paragraph("photos: " + joined(answer.photos), 2);
  write_facts(page, answer, reading);
  if (!answer.causes.empty()) {
    write_title(page, "Causes (equal numbers: the records do not tell them apart)");
    for (const auto& cause : answer.causes)
      write_cause(page, cause);
    write_remedies(page, answer);
  }
  page.line();
  page.paragraph(answer.summary);
  page.paragraph(fmt::format("Weather: {}.", answer.weather));
  if (!answer.next_test.empty()) page.paragraph("One test that would tell more: " + answer.next_test + ".");
  return page.text();
}

std::string to_text(const api::TraceAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  const auto rows_of = [&](bool sharing) {
    std::vector<std::vector<std::string>> rows;
    for (const auto& row : answer.rows) {
      if (row.shares != sharing) continue;
      const auto how = row.signs.empty() ? row.outcome : row.outcome + ": " + joined(row.signs);
      rows.push_back(
          {fmt::format("{}/{}", row.piece, row.coat), row.batch.value_or("-"), row.zone, row.night, how});
    }
    return rows;
  };
  page.line(page.bold("Made of " + answer.what));
  const std::vector<std::string> head{"piece/coat", "batch", "zone", "night", "came out"};
  std::string text = page.text() + table(head, rows_of(true));
  const auto beside = rows_of(false);
  if (!beside.empty()) text += "\nIn the same zones on the same nights\n" + table(head, beside);
  return text;
}

std::string export_csv(const api::ExportAnswer& answer) {
  std::string text;
  for (const auto& row : answer.rows)
    text += csv_line(row);
  return text;
}

std::string csv_line(const std::vector<std::string>& cells) {
  std::string line;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i > 0) line += ',';
    const bool plain = cells[i].find_first_of(",\"\r\n") == std::string::npos;
    if (plain) {
      line += cells[i];
      continue;
    }
    line += '"';
    for (const char c : cells[i])
      line += c == '"' ? std::string("\"\"") : std::string(1, c);
    line += '"';
  }
  return line + "\r\n";
}

}  // namespace setwell::cli
