#include "sensors/screen/duplicates.hpp"

#include <catch2/catch.hpp>

#include "tests/unit/screen/readings.hpp"

using namespace setwell;
using namespace setwell::tests;
using std::chrono::milliseconds;
using std::chrono::minutes;
using std::chrono::seconds;

namespace {

std::size_t refused_as_duplicates(const screen::Rules& rules, std::vector<quantity::DecodedValue> series) {
  std::size_t count = 0;
  for (const auto& verdict : screen::screen(rules, series))
    count += verdict.refused == quantity::Refusal::duplicate;
  return count;
}

screen::Rules two_gateways() {
  auto rules = thermometer();
  rules.several_ways = true;
  return rules;
}

}  // namespace

TEST_CASE("Two values with one device time are one, the first received", "[duplicate]") {
  auto first = reading(21.5, morning());
  first.by_device = true;
  auto again = first;
  again.received += minutes(30);
  CHECK(verdicts(thermometer(), {again, first}) == "duplicate w");
  again.by_device = false;
  CHECK(refused_as_duplicates(thermometer(), {first, again}) == 0);
}

TEST_CASE("A repeat of a refused value is a repeat, but a refused value never hides a good one",
          "[duplicate]") {
  auto bad = reading(999, morning());
  bad.by_device = true;
  bad.refusal = quantity::Refusal::sentinel;
  auto again = bad;
  again.received += seconds(10);
  CHECK(verdicts(thermometer(), {bad, again}) == "sentinel duplicate");
  auto good = reading(21.5, morning());
  good.by_device = true;
  good.received += seconds(10);
  CHECK(verdicts(thermometer(), {bad, good}) == "sentinel w");
}

TEST_CASE("One sequence number with one value is one reading, by whatever way it came", "[duplicate]") {
  auto series = every(seconds(1), {21.5, 21.5, 21.5});
  for (auto& value : series)
    value.seq = 417;
  series[1].topic = "other/gateway";
  CHECK(verdicts(two_gateways(), series) == "w duplicate duplicate");
  series[2].seq = 418;
  CHECK(verdicts(two_gateways(), series) == "w duplicate w");
}

TEST_CASE("A sequence number met again after a restart is a new reading", "[duplicate]") {
  auto series = each_minute({21.0, 21.1, 22.0, 22.1});
  for (std::size_t i = 0; i < series.size(); ++i)
    series[i].seq = static_cast<std::int64_t>(i % 2);
  CHECK(refused_as_duplicates(thermometer(), series) == 0);
  auto far_apart = every(minutes(11), {21.0, 21.0});
  for (auto& value : far_apart)
    value.seq = 5;
  CHECK(refused_as_duplicates(thermometer(), far_apart) == 0);
  far_apart[1].redelivered = true;
  CHECK(refused_as_duplicates(thermometer(), far_apart) == 1);
  auto booted = every(minutes(1), {21.0, 21.0});
  booted[0].seq = booted[1].seq = 1;
  booted[0].uptime = 60.0;
  booted[1].uptime = 1.0;
  CHECK(refused_as_duplicates(thermometer(), booted) == 0);
}

TEST_CASE("The same bytes ten times within three seconds by two ways are one sample and nine repeats",
          "[duplicate]") {
  for (const char* start : {"10:00:00", "10:00:58"}) {
    auto series = every(milliseconds(250), std::vector<double>(10, 21.5));
    for (std::size_t i = 0; i < series.size(); ++i) {
      series[i].topic = i % 2 == 0 ? "gw1/p7" : "gw2/p7";
      series[i].measured += std::string(start) == "10:00:58" ? seconds(58) : seconds(0);
      series[i].received = series[i].measured;
    }
    INFO(start);
    CHECK(refused_as_duplicates(two_gateways(), series) == 9);
    CHECK(refused_as_duplicates(thermometer(), series) == 0);
  }
}

TEST_CASE("A stable cabinet repeats its value for hours, and none of it is a repeat", "[duplicate]") {
  CHECK(refused_as_duplicates(two_gateways(), every(seconds(10), std::vector<double>(1000, 21.5))) == 0);
  CHECK(refused_as_duplicates(thermometer(), every(milliseconds(500), std::vector<double>(1000, 21.5))) == 0);
}

TEST_CASE("A sensor faster than three seconds keeps a sample in every four seconds, and never goes silent",
          "[duplicate]") {
  const auto series = every(seconds(1), std::vector<double>(1200, 21.5));
  const auto verdict = screen::screen(two_gateways(), series);
  std::size_t since_kept = 0;
  std::size_t kept = 0;
  for (const auto& one : verdict) {
    since_kept = one.refused ? since_kept + 1 : 0;
    kept += !one.refused;
    CHECK(since_kept < 8);
  }
  CHECK(kept >= 280);
  CHECK(kept <= 330);
}

TEST_CASE("A redelivery is one whose bytes the previous connection's last messages hold, once each",
          "[duplicate]") {
  using screen::Delivery;
  const std::vector<Delivery> previous{{"t", "21.5"}, {"t", "21.6"}, {"h", "21.7"}};
  const std::vector<Delivery> current{{"t", "21.6", true},
                                      {"t", "21.6", true},
                                      {"t", "21.7", true},
                                      {"t", "21.5", false},
                                      {"t", "21.5", true}};
  CHECK(screen::find_redeliveries(previous, current) == std::vector{true, false, false, false, true});
  CHECK(screen::find_redeliveries({}, current) == std::vector{false, false, false, false, false});
}

TEST_CASE("Only the last twenty messages of the previous connection can come again", "[duplicate]") {
  std::vector<screen::Delivery> previous{{"t", "early"}};
  for (int i = 0; i < 20; ++i)
    previous.push_back({"t", std::to_string(i)});
  const std::vector<screen::Delivery> current{{"t", "early", true}, {"t", "0", true}};
  CHECK(screen::find_redeliveries(previous, current) == std::vector{false, true});
}
