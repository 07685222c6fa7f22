#include "cli/render/air_page.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "tests/unit/cli/answers.hpp"

namespace setwell::cli {
namespace {

const Look kLook{kNow, Colour::off};

void check_geometry(const Drawing& drawing) {
  const Box page{0, 0, drawing.width, drawing.height};
  for (std::size_t i = 0; i < drawing.texts.size(); ++i) {
    INFO(drawing.texts[i].text);
    CHECK(drawing.texts[i].box.inside(page));
    for (std::size_t j = i + 1; j < drawing.texts.size(); ++j) {
      INFO(drawing.texts[j].text);
      CHECK_FALSE(drawing.texts[i].box.meets(drawing.texts[j].box));
    }
  }
  for (const auto& path : drawing.paths)
    for (const auto& [x, y] : path.points) {
      CHECK(std::isfinite(x));
      CHECK(std::isfinite(y));
      CHECK((x >= 0 && x <= drawing.width && y >= 0 && y <= drawing.height));
    }
}

TEST_CASE("The chart of the air lies inside its frame and no two labels meet, in both displays", "[page]") {
  for (const auto& wish : {kMetric, kOther}) {
    const auto chart = air_chart(air_answer(wish).zones.front(), wish);
    REQUIRE(chart);
    check_geometry(lay_out(*chart));
  }
}

TEST_CASE("Humidity is drawn from 0 to 100 %, however still it is", "[page]") {
  const auto chart = air_chart(air_answer(kMetric).zones.front(), kMetric);
  REQUIRE(chart);
  CHECK(chart->panels[1].least == 0.0);
  CHECK(chart->panels[1].most == 100.0);
}

TEST_CASE("Without a forecast the page shows the last day and says that there is none", "[page]") {
  auto answer = air_answer(kMetric);
  answer.zones.resize(1);
  answer.zones.front().forecast.reset();
  const auto chart = air_chart(answer.zones.front(), kMetric);
  REQUIRE(chart);
  check_geometry(lay_out(*chart));
  CHECK(air_page(answer, kLook).find("There is no forecast") != std::string::npos);
}

TEST_CASE("A zone that told nothing has words and no chart", "[page]") {
  auto answer = air_answer(kMetric);
  answer.zones.erase(answer.zones.begin());
  CHECK_FALSE(air_chart(answer.zones.front(), kMetric));
  answer.zones.front().last_day = std::vector<api::AirHour>(24);
  CHECK_FALSE(air_chart(answer.zones.front(), kMetric));
  const auto page = air_page(answer, kLook);
  CHECK(page.find("<svg") == std::string::npos);
  CHECK(page.find("Nothing trusted has been heard") != std::string::npos);
}

TEST_CASE("The page needs nothing from elsewhere, and names are no markup", "[page]") {
  auto answer = air_answer(kMetric);
  answer.zones.front().limits.front().pieces = {"<script>alert(1)</script>"};
  const auto page = air_page(answer, kLook);
  CHECK(page.find("<script") == std::string::npos);
  CHECK(page.find("src=") == std::string::npos);
  CHECK(page.find("http://www.w3.org/2000/svg") != std::string::npos);
  CHECK(page.find("cure stops below 13.0 °C") != std::string::npos);
  CHECK(page.find("nine cases of ten") != std::string::npos);
}

}  // namespace
}  // namespace setwell::cli
