#include "sensors/screen/screen.hpp"

#include <catch2/catch.hpp>

#include "tests/unit/screen/readings.hpp"

using namespace setwell;
using namespace setwell::tests;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

TEST_CASE("A value that agrees with the two before it is judged at once; a lone one waits", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({20.1})) == "w");
  CHECK(verdicts(thermometer(), each_minute({20.1, 20.2})) == "w w");
  CHECK(verdicts(thermometer(), each_minute({20.1, 20.2, 20.1})) == "J J J");
  CHECK(verdicts(thermometer(), each_minute({20.1, 20.2, 20.1, 20.3})) == "J J J J");
}

TEST_CASE("One absurd first value is refused once three agree, and costs no other", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({80, 20.1, 20.2})) == "w w w");
  CHECK(verdicts(thermometer(), each_minute({80, 20.1, 20.2, 20.1})) == "spike J J J");
  CHECK(verdicts(thermometer(), each_minute({80, 81, 20.1, 20.2, 20.1})) == "spike spike J J J");
}

TEST_CASE("A step is accepted at the third value, and the two before it become good", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 35})) == "J J J w");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 35, 35})) == "J J J w w");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 35, 35, 35})) == "J J J J J J");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 35, 35, 35, 35})) == "J J J J J J J");
}

TEST_CASE("A value that the next ones do not bear out is a spike", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({20.1, 20.2, 20.1, 45, 20.2})) == "J J J spike J");
  CHECK(verdicts(thermometer(), each_minute({20.1, 20.2, 45, 20.2, 20.1})) == "J J spike J J");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 45, 46, 20, 20})) == "J J J spike spike J J");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, -20, 60, 20, 20})) == "J J J spike spike J J");
}

TEST_CASE("A ramp is no spike, however steep its ends", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({70, 78, 83, 84, 84})) == "w J J J J");
  CHECK(verdicts(thermometer(), every(minutes(5), {20, 20, 25, 31, 38, 44, 45, 45})) == "w J J J J J J J");
  CHECK(verdicts(thermometer(), each_minute({20, 20, 20, 27, 34, 41, 41, 41})) == "J J J J J J J J");
}

TEST_CASE("After a long pause a room may be elsewhere", "[screen]") {
  auto series = each_minute({20, 20, 20});
  series.push_back(reading(12, morning() + hours(9)));
  CHECK(verdicts(thermometer(), series) == "J J J J");
}

TEST_CASE("Values whose time is uncertain are not held against each other's seconds", "[screen]") {
  auto series = every(std::chrono::milliseconds(20), {20, 17, 14, 12, 11});
  for (auto& value : series)
    value.time = quantity::TimeQuality::uncertain;
  CHECK(verdicts(thermometer(), series) == "u u u u u");
}

TEST_CASE("85.0 is refused unless good values approach it", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({21.4, 85.0, 21.5})) == "w sentinel w");
  CHECK(verdicts(thermometer(), each_minute({85.0})) == "sentinel");
  CHECK(verdicts(thermometer(), each_minute({21.4, 85.0, 85.0, 85.0, 85.0, 21.5, 21.4})) ==
        "J sentinel sentinel sentinel sentinel J J");
  CHECK(verdicts(thermometer(), each_minute({70, 78, 83, 85.0, 84})) == "w J J J J");
  CHECK(verdicts(thermometer(), each_minute({70, 78, 83, 85.0})) == "w J J w");
}

TEST_CASE("A sensor that switches to the other unit is suspect until it switches back", "[screen]") {
  CHECK(verdicts(thermometer(), each_minute({21, 21, 21, 69.8})) == "J J J w");
  CHECK(verdicts(thermometer(), each_minute({21, 21, 21, 69.8, 70, 69.9})) ==
        "J J J unit-suspect unit-suspect unit-suspect");
  CHECK(verdicts(thermometer(), each_minute({21, 21, 21, 69.8, 20.9})) == "J J J spike J");
  CHECK(verdicts(thermometer(), each_minute({21, 21, 21, 50, 50, 50})) == "J J J J J J");
  std::vector<double> values(3, 21.0);
  values.insert(values.end(), 500, 69.8);
  values.insert(values.end(), 3, 21.2);
  const auto verdict = screen::screen(thermometer(), each_minute(values));
  for (std::size_t at = 3; at < 503; ++at)
    CHECK(verdict[at].refused == quantity::Refusal::unit_suspect);
  for (std::size_t at = 503; at < 506; ++at)
    CHECK(screen::counts(verdict[at]));
}

TEST_CASE("A channel read in Fahrenheit is suspect when its sensor switches to Celsius", "[screen]") {
  auto series = each_minute({21, 21, 21, -6, -6.1, -6});  // 21 °C read as °F is −6.1 °C
  for (auto& value : series)
    value.unit = quantity::Unit::deg_f;
  CHECK(verdicts(thermometer(), series) == "J J J unit-suspect unit-suspect unit-suspect");
}

TEST_CASE("A humidity that falls to a hundredth is suspect; one that falls elsewhere is a humidity",
          "[screen]") {
  CHECK(verdicts(hygrometer(), each_minute({48, 48.2, 48.1, 0.482, 0.48, 0.481})) ==
        "J J J scale-suspect scale-suspect scale-suspect");
  CHECK(verdicts(hygrometer(), each_minute({48, 48.2, 48.1, 0.482, 48})) == "J J J spike J");
  CHECK(verdicts(hygrometer(), each_minute({48, 48.2, 48.1, 10, 10.1, 10})) == "J J J J J J");
  CHECK(verdicts(hygrometer(), each_minute({48, 48.2, 48.1, 0.482, 0.48, 0.481, 48, 48.1, 48})) ==
        "J J J scale-suspect scale-suspect scale-suspect J J J");
}

TEST_CASE("After its uptime or sequence falls a sensor settles, and settling values judge nobody",
          "[screen]") {
  auto series = each_minute({21.4, 21.4, 21.4, 26.8, 24.0, 21.5, 21.4});
  const std::vector<double> uptimes{8100, 8160, 8220, 5, 65, 125, 185};
  for (std::size_t i = 0; i < series.size(); ++i)
    series[i].uptime = uptimes[i];
  CHECK(verdicts(thermometer(), series) == "J J J s s J J");
  for (std::size_t i = 0; i < series.size(); ++i) {
    series[i].uptime.reset();
    series[i].seq = static_cast<std::int64_t>(i < 3 ? 417 + i : i - 3);
  }
  CHECK(verdicts(thermometer(), series) == "J J J s s J J");
  auto rules = thermometer();
  rules.settle = minutes(1);
  CHECK(verdicts(rules, series) == "J J J s J J w");
}

TEST_CASE("A birth message settles the sensor too", "[screen]") {
  const auto series = each_minute({21.4, 21.4, 21.4, 26.8, 24.0, 21.5, 21.4});
  CHECK(verdicts(thermometer(), series, {morning() + seconds(170)}) == "J J J s s J J");
}

TEST_CASE("A quality is the first that applies", "[screen]") {
  auto value = reading(101, morning());
  value.clamped = true;
  const std::vector births{morning()};
  CHECK(screen::screen(hygrometer(), {{value}})[0].quality == quantity::Quality::clamped);
  CHECK(screen::screen(hygrometer(), {{value}}, births)[0].quality == quantity::Quality::settling);
  value.time = quantity::TimeQuality::uncertain;
  CHECK(screen::screen(hygrometer(), {{value}}, births)[0].quality == quantity::Quality::time_uncertain);
  value.time = quantity::TimeQuality::bad;
  CHECK(screen::screen(hygrometer(), {{value}}, births)[0].quality == quantity::Quality::time_bad);
}

TEST_CASE("Only judged good and clamped values count", "[screen]") {
  using quantity::Quality;
  using screen::Verdict;
  CHECK(screen::counts(Verdict{{}, Quality::good, true}));
  CHECK(screen::counts(Verdict{{}, Quality::clamped, true}));
  CHECK_FALSE(screen::counts(Verdict{{}, Quality::good, false}));
  CHECK_FALSE(screen::counts(Verdict{{}, Quality::settling, true}));
  CHECK_FALSE(screen::counts(Verdict{{}, Quality::time_bad, true}));
  CHECK_FALSE(screen::counts(Verdict{quantity::Refusal::spike, Quality::good, false}));
}

TEST_CASE("A value refused on its own keeps its reason and judges nobody", "[screen]") {
  auto series = each_minute({20, 20, 999, 999, 999, 20});
  for (std::size_t i = 2; i < 5; ++i)
    series[i].refusal = quantity::Refusal::sentinel;
  CHECK(verdicts(thermometer(), series) == "J J sentinel sentinel sentinel J");
}

TEST_CASE("A battery, a switch and a door are believed as they come", "[screen]") {
  screen::Rules rules;
  rules.quantity = quantity::MeasuredQuantity::running;
  CHECK(verdicts(rules, each_minute({1, 0, 1})) == "J J J");
  rules.quantity = quantity::MeasuredQuantity::battery;
  CHECK(verdicts(rules, each_minute({87, 12, 99})) == "J J J");
}

TEST_CASE("The newest value is the latest measured, wherever it stands in the list", "[screen]") {
  const auto series = each_minute({20, 20, 20, 80, 20.2, 20.1});
  const std::vector shuffled{series[3], series[0], series[5], series[1], series[4], series[2]};
  CHECK(verdicts(thermometer(), shuffled) == "spike J J J J J");
}
