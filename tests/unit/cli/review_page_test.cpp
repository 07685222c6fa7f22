#include "cli/render/review_page.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <regex>

#include <catch2/catch.hpp>

namespace setwell::cli {
namespace {

using quantity::Instant;

constexpr Instant kMonday{std::chrono::sys_days{std::chrono::year{2031} / 3 / 3}};

std::string at(int minutes) {
  return quantity::rfc3339(kMonday + std::chrono::minutes(minutes), std::chrono::minutes(60));
}

/// Two days with a silence, all there can be on a page, and a piece whose name is no good HTML.
api::ReviewAnswer full() {
  api::ReviewAnswer answer;
  answer.time = at(2880);
  answer.piece = "fern<07>";
  answer.coat = 2;
  answer.sheet = "slow-epoxy";
  answer.signs = {"greasy", "cloudy"};
  answer.where = {"at the \"handle\" & rim"};
  answer.summary = "What the records point to: amine blush.";
  answer.settled = true;
  answer.weather = "suspect";
  answer.next_test = "wipe a spot with plain warm water";
  answer.from = at(0);
  answer.to = at(2880);
  for (int i = 0; i < 288; ++i) {
    api::ReviewPoint point;
    point.at = at(10 * i);
    if (i < 90 || i > 110) {
      point.air_c = 18 + 4 * std::sin(i * 0.05);
      point.surface_c = *point.air_c - 0.2;
      point.surface_low_c = *point.air_c - 0.8;
      point.surface_high_c = *point.air_c + 0.3;
      point.dew_point_c = *point.air_c - 3;
      point.humidity_pct = 70;
    }
    answer.course.push_back(point);
  }
  answer.bounds = {{2, "air below the limit", "degC", 16, true, at(0), at(1440), 3600, 14},
                   {2, "air below the advised range", "degC", 18, false, at(0), at(1440), 7200, 14},
                   {2, "humidity above the limit", "%", 75, true, at(0), at(1440), 600, 80}};
  answer.lanes = {{"coat 1 not set", at(0), at(0), at(600), at(800)},
                  {"coat 1 open", at(300), at(400), at(1200), at(1500)}};
  for (int i = 0; i < 20; ++i)
    answer.events.push_back({at(100 * i), "step " + std::to_string(i)});
  for (int i = 0; i < 6; ++i)
    answer.causes.push_back({"blush",
                             "amine blush",
                             i + 1,
                             true,
                             {"humidity up to 93 %"},
                             {"no night"},
                             {"what heated it"},
                             {"Wash with plain water", "Then abrade"}});
  for (int i = 0; i < 25; ++i)
    answer.facts.push_back({"this coat", "air 14.0 °C to 20.0 °C"});
  answer.absent = {"no humidity was recorded"};
  answer.cautions = {"Gloves."};
  return answer;
}

const Look kLook{kMonday + std::chrono::hours(60), Colour::off};

TEST_CASE("The chart of a review lies inside its frame and no two labels meet", "[page]") {
  const auto drawing = lay_out(review_chart(full()));
  const Box page{0, 0, drawing.width, drawing.height};
  for (std::size_t i = 0; i < drawing.texts.size(); ++i) {
    INFO(drawing.texts[i].text);
    CHECK(drawing.texts[i].box.inside(page));
    for (std::size_t j = i + 1; j < drawing.texts.size(); ++j)
      CHECK_FALSE(drawing.texts[i].box.meets(drawing.texts[j].box));
  }
}

TEST_CASE("A review's page needs no script and fetches nothing", "[page]") {
  const auto page = review_page(full(), kLook);
  for (const char* no : {"<script", "javascript:", "<link", "<img", "<iframe", "@import", "url(", "onclick",
                         "onload", "http-equiv"}) {
    INFO(no);
    CHECK(page.find(no) == std::string::npos);
  }
  // The one address is the name of the SVG language.
  CHECK(std::regex_replace(page, std::regex("http://www\\.w3\\.org/2000/svg"), "").find("://") ==
        std::string::npos);
}

TEST_CASE("A review's page says for those who cannot see it what the chart shows", "[page]") {
  const auto page = review_page(full(), kLook);
  CHECK(page.find("<html lang=\"en\">") != std::string::npos);
  CHECK(page.find("role=\"img\" aria-labelledby=\"chart-title chart-description\"") != std::string::npos);
  CHECK(page.find("<title id=\"chart-title\">Air, surface and dew point about coat 2") != std::string::npos);
  CHECK(page.find("<desc id=\"chart-description\">What the records point to") != std::string::npos);
  CHECK(page.find("<figure tabindex=\"0\"") != std::string::npos);
  CHECK(page.find("class=\"skip\" href=\"#main\"") != std::string::npos);
}

TEST_CASE("What a maker typed cannot break the page", "[page]") {
  const auto page = review_page(full(), kLook);
  CHECK(page.find("fern<07>") == std::string::npos);
  CHECK(page.find("fern&lt;07&gt;") != std::string::npos);
  CHECK(page.find("&quot;handle&quot; &amp; rim") != std::string::npos);
}

TEST_CASE("A silence is shaded on the chart and named", "[page]") {
  const auto chart = review_chart(full());
  REQUIRE_FALSE(chart.shades.empty());
  CHECK(chart.panels[0].lines[0].runs.size() == 2);
  CHECK(svg_of(lay_out(chart), "", "").find("<title>no readings</title>") != std::string::npos);
}

/// Relative luminance and contrast as WCAG 2 defines them.
double luminance(const std::string& hex) {
  const auto part = [&](int i) {
    const double c = std::stoi(hex.substr(1 + 2 * i, 2), nullptr, 16) / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * part(0) + 0.7152 * part(1) + 0.0722 * part(2);
}
double contrast(const std::string& a, const std::string& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

TEST_CASE("Every ink stands out from the paper, by day and by night", "[page]") {
  const auto page = review_page(full(), kLook);
  std::vector<std::map<std::string, std::string>> schemes;
  const std::regex scheme(R"(:root\{(?:color-scheme:light dark;)?(--paper:#[0-9a-f]{6}[^}]*)\})");
  const std::regex ink(R"(--([a-z]+):(#[0-9a-f]{6}))");
  for (std::sregex_iterator found(page.begin(), page.end(), scheme), last; found != last; ++found) {
    const std::string body = (*found)[1];
    auto& inks = schemes.emplace_back();
    for (std::sregex_iterator one(body.begin(), body.end(), ink), end; one != end; ++one)
      inks[(*one)[1]] = (*one)[2];
  }
  REQUIRE(schemes.size() == 2);
  for (const auto& inks : schemes) {
    for (const char* name : {"ink", "soft", "air", "surface", "dew", "limit", "advised"}) {
      INFO(name);
      CHECK(contrast(inks.at(name), inks.at("paper")) >= 4.5);
    }
  }
}

TEST_CASE("The terminal tells facts before causes, and the summary last", "[page]") {
  const auto text = to_text(full(), kLook);
  const auto facts = text.find("Facts"), causes = text.find("Causes"),
             summary = text.find("What the records point to");
  REQUIRE((facts != std::string::npos && causes != std::string::npos && summary != std::string::npos));
  CHECK(facts < causes);
  CHECK(causes < summary);
  CHECK(text.find("   +") != std::string::npos);
}

TEST_CASE("Cells of an exported table are quoted where they must be", "[page]") {
  CHECK(csv_line({"a", "b,c", "say \"so\"", ""}) == "a,\"b,c\",\"say \"\"so\"\"\",\r\n");
}

}  // namespace
}  // namespace setwell::cli
