#include "cli/render/chart.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

namespace setwell::cli {
namespace {

using quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;

constexpr Instant kMonday{std::chrono::sys_days{std::chrono::year{2031} / 3 / 3}};

ChartLine wave(std::string name, Ink ink, double middle, double height) {
  ChartLine line{std::move(name), ink, {{}}};
  for (int i = 0; i <= 96; ++i)
    line.runs[0].push_back({kMonday + minutes(30 * i), middle + height * std::sin(i * 0.13)});
  return line;
}

/// As full as a page gets: five names at nearly one height, marks on top of each other, many lanes.
Chart crowded() {
  Chart chart;
  chart.title = "Air";
  chart.description = "A test";
  chart.from = kMonday;
  chart.to = kMonday + hours(48);
  chart.offset = hours(1);
  ChartPanel panel{"Temperature, °C", 170, {}, {}, {}, {}, {}};
  panel.bands.push_back({Ink::surface, {{}}});
  for (int i = 0; i <= 48; ++i)
    panel.bands[0].runs[0].push_back({kMonday + hours(i), 15.0, 17.0});
  panel.lines = {wave("air", Ink::air, 16, 1.0), wave("surface", Ink::surface, 16.1, 0.9),
                 wave("dew point", Ink::dew, 15.8, 0.5)};
  panel.limits = {{"limit 16 °C", Ink::limit, 16, kMonday, kMonday + hours(24)},
                  {"advised 16.2 °C and a long name", Ink::advised, 16.2, kMonday, kMonday + hours(48)}};
  chart.panels = {panel, {"Humidity, %", 80, {}, {wave("humidity", Ink::humidity, 60, 9)}, {}, {}, {}}};
  for (int i = 0; i < 9; ++i)
    chart.marks.push_back({kMonday + minutes(3 * i), std::to_string(i + 1)});
  for (int i = 0; i < 6; ++i) {
    chart.lanes.push_back({"a lane with a long name " + std::to_string(i), kMonday + hours(i),
                           kMonday + hours(2 * i), kMonday + hours(3 * i + 4), kMonday + hours(60)});
  }
  chart.shades.push_back({"silence", Ink::silence, kMonday - hours(3), kMonday + hours(5)});
  return chart;
}

void check_geometry(const Drawing& drawing) {
  const Box page{0, 0, drawing.width, drawing.height};
  for (const auto& text : drawing.texts) {
    INFO(text.text);
    CHECK(text.box.inside(page));
  }
  for (const auto& rect : drawing.rects) {
    INFO(rect.kind);
    CHECK(rect.box.inside(page));
    CHECK(rect.box.left <= rect.box.right);
  }
  for (const auto& path : drawing.paths) {
    for (const auto& [x, y] : path.points)
      CHECK((x >= 0 && x <= drawing.width && y >= 0 && y <= drawing.height));
  }
  for (std::size_t i = 0; i < drawing.texts.size(); ++i) {
    for (std::size_t j = i + 1; j < drawing.texts.size(); ++j) {
      INFO(drawing.texts[i].text << " | " << drawing.texts[j].text);
      CHECK_FALSE(drawing.texts[i].box.meets(drawing.texts[j].box));
    }
  }
}

TEST_CASE("On a crowded chart no two labels meet and everything lies inside", "[chart]") {
  check_geometry(lay_out(crowded()));
}

TEST_CASE("Charts of any length and height keep their labels apart", "[chart]") {
  std::mt19937 random(7);
  for (int i = 0; i < 200; ++i) {
    Chart chart = crowded();
    chart.to = chart.from + minutes(20 + random() % 200000);
    chart.hours_12 = i % 2 == 0;
    chart.offset = minutes(static_cast<int>(random() % 1500) - 720);
    for (auto& limit : chart.panels[0].limits)
      limit.value = static_cast<double>(random() % 60) - 20;
    check_geometry(lay_out(chart));
  }
}

TEST_CASE("A silence stays a gap in the line", "[chart]") {
  Chart chart = crowded();
  chart.panels.resize(1);
  chart.panels[0].bands.clear();
  chart.panels[0].limits.clear();
  chart.panels[0].lines = {
      {"air",
       Ink::air,
       {{{kMonday, 10}, {kMonday + hours(4), 12}}, {{kMonday + hours(9), 9}, {kMonday + hours(20), 8}}}}};
  const auto drawing = lay_out(chart);
  const auto lines = std::count_if(drawing.paths.begin(), drawing.paths.end(),
                                   [](const PathShape& path) { return path.kind == "line ink-air"; });
  CHECK(lines == 2);
}

TEST_CASE("A panel without a reading says that nothing is recorded", "[chart]") {
  Chart chart = crowded();
  chart.panels = {{"Temperature, °C", 120, {}, {}, {}, {}, {}}};
  const auto svg = svg_of(lay_out(chart), chart.title, chart.description);
  CHECK(svg.find("nothing recorded") != std::string::npos);
}

TEST_CASE("Ticks are round and hold both ends", "[chart]") {
  CHECK(round_ticks(13.2, 21.7, 5) == std::vector<double>{12, 14, 16, 18, 20, 22});
  CHECK(round_ticks(0, 100, 4) == std::vector<double>{0, 50, 100});
  const auto flat = round_ticks(20, 20, 4);
  CHECK(flat.front() <= 20);
  CHECK(flat.back() > 20);
}

TEST_CASE("Time ticks stand at full hours of the workshop's clock", "[chart]") {
  const auto ticks = time_ticks(kMonday, kMonday + hours(24), minutes(330), 8);
  REQUIRE(ticks.size() == 8);
  for (const auto at : ticks)
    CHECK((at + minutes(330)).time_since_epoch() % hours(3) == minutes(0));
}

TEST_CASE("Labels are spread as little as needed and stay within their room", "[chart]") {
  CHECK(spread_apart({10, 50, 12}, 10, 0, 100) == std::vector<double>{10, 50, 20});
  CHECK(spread_apart({98, 99, 97}, 10, 0, 100) == std::vector<double>{90, 100, 80});
}

TEST_CASE("Text in a drawing cannot break out of it", "[chart]") {
  CHECK(escaped("<a href=\"x\">&'\x01") == "&lt;a href=&quot;x&quot;&gt;&amp;&#39;");
}

}  // namespace
}  // namespace setwell::cli
