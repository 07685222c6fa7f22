#include <algorithm>
#include <cmath>

#include "tests/component/service/shop.hpp"

/// What the daemon makes of a zone's air to come.
namespace setwell::service_tests {

namespace {

constexpr std::string_view kBench = "bench";

/// Days that are warm at noon and cold at night, told every ten minutes.
void live_days(Shop& shop, int days, double mean = 18.0) {
  const auto until = shop.now + hours(24) * days;
  while (shop.now < until) {
    const double hour = quantity::hours_between(morning(), shop.now).count();
    shop.air_for(minutes(30), mean + 4.0 * std::sin(hour * 2 * 3.14159265 / 24), 55.0);
  }
}

api::AirZone bench(Shop& shop) {
  const auto answer = granted(service::air(shop.shop(), {std::string(kBench)}, shop.now));
  return answer.zones.front();
}

}  // namespace

TEST_CASE("A zone that nobody has told of says why it has no forecast", "[service]") {
  Shop shop;
  shop.tick();
  const auto zone = bench(shop);
  CHECK_FALSE(zone.forecast);
  CHECK(holds(zone.ahead, "nothing trusted"));
  CHECK(holds(granted(service::now_answer(shop.shop(), {}, shop.now)).ahead, "yesterday's same hour"));
}

TEST_CASE("From the first hour there is a forecast that says how little it knows", "[service]") {
  Shop shop;
  shop.air_for(hours(3));
  const auto zone = bench(shop);
  REQUIRE(zone.forecast);
  CHECK(zone.forecast->wide);
  CHECK(zone.forecast->steps.size() == 49);
  CHECK(holds(zone.ahead, "wide"));
  CHECK(holds(granted(service::now_answer(shop.shop(), {}, shop.now)).ahead, "Still learning"));
}

TEST_CASE("A restart changes nothing of what is foretold", "[service]") {
  Shop shop(Keeps::a_file);
  live_days(shop, 3);
  const auto before = bench(shop);
  REQUIRE(before.forecast);
  shop.restart();
  shop.tick();
  const auto after = bench(shop);
  REQUIRE(after.forecast);
  CHECK(after.forecast->issued == before.forecast->issued);
  CHECK(after.forecast->learned_h == before.forecast->learned_h);
  for (std::size_t i = 0; i < before.forecast->steps.size(); ++i) {
    CHECK(after.forecast->steps[i].air_c.median == before.forecast->steps[i].air_c.median);
    CHECK(after.forecast->steps[i].air_c.p5 == before.forecast->steps[i].air_c.p5);
  }
}

TEST_CASE("Readings that come late leave the forecast as if they had come in time", "[service]") {
  Shop timely;
  Shop late;
  timely.air_for(hours(30));
  late.air_for(hours(20));
  std::vector<decode::RawMessage> held;
  const auto until = late.now + hours(4);
  for (auto t = late.now + minutes(10); t <= until; t += minutes(10))
    held.push_back(late.usual_message(t, 22.0, 50.0, until));
  late.silence_for(hours(4));
  late.take(held);
  late.air_upto(timely.now);
  timely.tick();
  late.tick();
  const auto a = bench(timely);
  const auto b = bench(late);
  REQUIRE(a.forecast);
  REQUIRE(b.forecast);
  CHECK(a.forecast->learned_h == b.forecast->learned_h);
  for (std::size_t i = 0; i < a.forecast->steps.size(); ++i)
    CHECK(a.forecast->steps[i].air_c.p95 == Approx(b.forecast->steps[i].air_c.p95));
}

TEST_CASE("After two silent days there is no forecast", "[service]") {
  Shop shop;
  shop.air_for(hours(5));
  shop.silence_for(hours(50));
  const auto zone = bench(shop);
  CHECK_FALSE(zone.forecast);
  CHECK(holds(zone.ahead, "two days"));
}

TEST_CASE("Logging a coat says what the night will do to it", "[service]") {
  Shop shop;
  live_days(shop, 8);
  shop.make("fern-01");
  shop.make("fern-02");
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = {"fern-01", "fern-02"};
  params.zone = "bench";
  const auto answer = granted(service::coat(shop.shop(), params, shop.now));
  CHECK(std::count_if(answer.said.begin(), answer.said.end(),
                      [](const std::string& line) { return holds(line, "gets coldest about"); }) == 1);
  CHECK(holds(answer.said, "above the dew point"));
  CHECK(holds(answer.said, "hance"));
}

TEST_CASE("A chance of being overtaken stands in the trouble of a piece, before it is so", "[service]") {
  Shop shop;
  live_days(shop, 9, 14.0);
  shop.make("fern-01");
  // Late in the day, with a night to come that falls to 10 degrees.
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(minutes(20), 14.0, 78.0);
  bool chance = false;
  for (int i = 0; i < 12 && !chance; ++i) {
    shop.air_for(minutes(30), 14.0 - 0.3 * i, 80.0);
    for (const auto& trouble : shop.piece("fern-01").trouble)
      chance = chance || (trouble.chance && *trouble.chance >= 0.05 && *trouble.chance <= 1.0);
  }
  CHECK(chance);
}

}  // namespace setwell::service_tests
