#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>
#include <sstream>
#include <string>

#include <catch2/catch.hpp>

#include "cli/render/drawing.hpp"
#include "tests/unit/cli/answers.hpp"

/// Every answer as the maker reads it, kept word by word in tests/golden/cli. After a wanted change run this
/// program once with SETWELL_WRITE_GOLDEN=1 and read what it wrote.
namespace setwell::cli {
namespace {

std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string without_escapes(const std::string& text) {
  std::string plain;
  bool inside = false;
  for (const char c : text) {
    if (c == '\x1b') inside = true;
    if (!inside) plain += c;
    if (c == 'm') inside = false;
  }
  return plain;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

std::string first_line(const std::string& text) {
  return text.substr(0, text.find('\n'));
}

/// Columns before the first hour: the scale and the axis.
constexpr std::size_t kLead = 8;
constexpr std::size_t kDrawnRows = 9;

/// What stands in each column, one code point each.
std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells;
  for (const char c : line) {
    if ((static_cast<unsigned char>(c) & 0xC0U) == 0x80U) {
      cells.back() += c;
    } else {
      cells.emplace_back(1, c);
    }
  }
  return cells;
}

bool is_drawn(const std::vector<std::string>& lines, std::size_t row, std::size_t hour) {
  const auto cells = cells_of(lines[row]);
  return cells.size() > kLead + hour && cells[kLead + hour] != " ";
}

/// Whether any of the drawing's rows holds something in that hour's column.
bool is_drawn(const std::vector<std::string>& lines, std::size_t hour) {
  for (std::size_t row = 0; row < kDrawnRows; ++row)
    if (is_drawn(lines, row, hour)) return true;
  return false;
}

}  // namespace

TEST_CASE("every answer reads as kept, word by word, in both displays") {
  const auto metric = all_texts(kMetric, Colour::off);
  const auto other = all_texts(kOther, Colour::off);
  for (std::size_t i = 0; i < metric.size(); ++i) {
    const auto text = "[24 h, °C]\n" + metric[i].second + "\n[12 h, °F]\n" + other[i].second;
    const auto file = std::filesystem::path(SETWELL_GOLDEN) / "cli" / (metric[i].first + ".txt");
    if (std::getenv("SETWELL_WRITE_GOLDEN") != nullptr) std::ofstream(file, std::ios::binary) << text;
    CAPTURE(file.filename().string());
    CHECK(content_of(file) == text);
  }
}

TEST_CASE("no line is wider than 80 columns or ends in a space, but findings keep to one line each") {
  for (const auto& display : {kMetric, kOther}) {
    for (const auto& [name, text] : all_texts(display, Colour::off)) {
      for (const auto& line : lines_of(text)) {
        CAPTURE(name, line);
        CHECK((name == "sheet-check" || columns(line) <= kPageWidth));
        CHECK_FALSE(line.ends_with(' '));
      }
    }
  }
}

TEST_CASE("colour changes no word and no line break") {
  const auto plain = all_texts(kMetric, Colour::off);
  const auto coloured = all_texts(kMetric, Colour::on);
  CHECK(coloured.front().second != plain.front().second);
  for (std::size_t i = 0; i < plain.size(); ++i) {
    CAPTURE(plain[i].first);
    CHECK(plain[i].second.find('\x1b') == std::string::npos);
    CHECK(without_escapes(coloured[i].second) == plain[i].second);
  }
}

TEST_CASE("a rehearsal says so in its first line") {
  const Look look{kNow};
  auto now = now_answer(kMetric);
  CHECK(to_text(now, look).find("REHEARSAL") == std::string::npos);
  now.rehearsal = true;
  CHECK(first_line(to_text(now, look)).starts_with("REHEARSAL"));
  api::AirAnswer air;
  air.rehearsal = true;
  CHECK(first_line(to_text(air, look)).starts_with("REHEARSAL"));
  api::PieceShowAnswer piece;
  piece.rehearsal = true;
  CHECK(first_line(to_text(piece, look)).starts_with("REHEARSAL"));
  api::StatusAnswer status;
  status.rehearsal = true;
  CHECK(first_line(to_text(status, look)).starts_with("REHEARSAL"));
  api::LoggedAnswer logged;
  logged.rehearsal = true;
  CHECK(first_line(to_text(logged, look)).starts_with("REHEARSAL"));
}

api::AirZone zone_of(std::vector<api::AirHour> hours) {
  api::AirZone zone;
  zone.last_day = std::move(hours);
  return zone;
}

TEST_CASE("an hour without readings is a gap in the drawing and marked in its base line") {
  const auto lines = draw_air(zone_of(day()), Reading(kMetric, kNow, kNow));
  REQUIRE(lines.size() > kDrawnRows + 2);
  // Rising by a degree an hour from left to right; the silent hours are columns 8 and 9.
  for (std::size_t hour = 0; hour < 24; ++hour) {
    CAPTURE(hour);
    CHECK(is_drawn(lines, hour) == (hour != 8 && hour != 9));
  }
  CHECK(lines[kDrawnRows] == std::string(kLead - 1, ' ') + "└────────xx──────────────");
  CHECK(lines[kDrawnRows + 1].find("12    18    00    06") != std::string::npos);
}

TEST_CASE("a day with nothing heard draws nothing") {
  CHECK(draw_air(zone_of({}), Reading(kMetric, kNow, kNow)).empty());
  CHECK(draw_air(zone_of(std::vector<api::AirHour>(24)), Reading(kMetric, kNow, kNow)).empty());
}

TEST_CASE("a still day is drawn flat, not blown up") {
  std::vector<api::AirHour> still(24);
  for (auto& hour : still) {
    hour.from = "2031-03-12T09:00:00+01:00";
    hour.least_c = hour.most_c = hour.mean_c = 18.0;
  }
  const auto lines = draw_air(zone_of(still), Reading(kMetric, kNow, kNow));
  REQUIRE(lines.size() > kDrawnRows);
  int drawn = 0;
  for (std::size_t row = 0; row < kDrawnRows; ++row)
    drawn += is_drawn(lines, row, 0);
  CHECK(drawn == 1);
}

TEST_CASE("the drawing of three days fits 80 columns, in both units, and tells what its lines are") {
  for (const auto& wish : {kMetric, kOther}) {
    const auto lines = draw_air(air_answer(wish).zones.front(), Reading(wish, kNow, kNow));
    std::string all;
    for (const auto& line : lines) {
      CAPTURE(line);
      CHECK(columns(line) <= kPageWidth);
      all += line + "\n";
    }
    CHECK(all.find("cure stops below") != std::string::npos);
    CHECK(all.find("outside waking hours") != std::string::npos);
    CHECK(all.find("9 in 10") != std::string::npos);
    CHECK(all.find(wish.temperature == "F" ? "°F" : "°C") != std::string::npos);
  }
}

TEST_CASE("a limit far from what the air does is named and does not flatten the drawing") {
  auto zone = zone_of(day());
  zone.limits = {{"cure stops below", -30, "degC", {"fern-01"}}};
  const auto with = draw_air(zone, Reading(kMetric, kNow, kNow));
  const auto without = draw_air(zone_of(day()), Reading(kMetric, kNow, kNow));
  CHECK(std::equal(without.begin(), without.begin() + kDrawnRows, with.begin()));
  CHECK(with.back().find("below this drawing") != std::string::npos);
}

TEST_CASE("a window whose sheet's limit was passed is not called safe") {
  const Look look{kNow};
  auto now = now_answer(kMetric);
  now.notices.clear();
  now.pieces = {now.pieces[1]};
  now.pieces[0].next = "wait";
  CHECK(to_text(now, look).find("safe") == std::string::npos);
  now.pieces[0].outside_limits.clear();
  CHECK(to_text(now, look).find("safe to recoat today 10:16 to 23:30") != std::string::npos);
}

TEST_CASE("a window that this air keeps from being used is not called safe, and says why") {
  auto now = now_answer(kMetric);
  now.notices.clear();
  now.pieces = {now.pieces[1]};
  now.pieces[0].next = "wait";
  now.pieces[0].outside_limits = {{"air below the limit for the next coat", 13.2, 15, "degC",
                                   "2031-03-12T08:10:00+01:00", std::nullopt, true}};
  const auto text = std::regex_replace(to_text(now, Look{kNow}), std::regex("\\s+"), " ");
  CHECK(text.find("safe") == std::string::npos);
  CHECK(text.find("but this air is outside a limit for the next coat") != std::string::npos);
  CHECK(text.find("13.2 °C (sheet: 15.0 °C), since today 08:10") != std::string::npos);
}

TEST_CASE("a window that is over is told as closed, with what is left to do") {
  auto now = now_answer(kMetric);
  now.notices.clear();
  now.pieces = {now.pieces[1]};
  now.pieces[0].next = "wait";
  now.pieces[0].outside_limits.clear();
  now.pieces[0].recoat[0].until = "2031-03-12T09:29:00+01:00";
  const auto text = to_text(now, Look{kNow});
  CHECK(text.find("closed since today 09:29: sand first") != std::string::npos);
  CHECK(text.find("sand from") == std::string::npos);
  now.pieces[0].milestones.push_back({"sandable",
                                      std::nullopt,
                                      {0.8, "2031-03-12T18:20:30+01:00"},
                                      {0.9, std::nullopt},
                                      {1.0, std::nullopt},
                                      {},
                                      {}});
  CHECK(to_text(now, Look{kNow}).find("sand from today 18:21") != std::string::npos);
  CHECK(text.find("safe to recoat") == std::string::npos);
}

TEST_CASE("text breaks between words only, and a long word stays whole") {
  CHECK(wrapped("one two  three", 8) == std::vector<std::string>{"one two", "three"});
  CHECK(wrapped("incomprehensible it", 5) == std::vector<std::string>{"incomprehensible", "it"});
  CHECK(wrapped("a\n\nb", 8) == std::vector<std::string>{"a", "", "b"});
  CHECK(wrapped("18.4 °C °C", 7) == std::vector<std::string>{"18.4 °C", "°C"});
}

TEST_CASE("times that cannot be read are shown as they came") {
  const Reading reading(kMetric, kNow, kNow);
  CHECK(reading.moment("soon") == "soon");
  CHECK(reading.hour("soon") == "?");
}

}  // namespace setwell::cli
