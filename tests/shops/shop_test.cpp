#include <algorithm>
#include <array>

#include <catch2/catch.hpp>

#include "tests/shops/report.hpp"
#include "tests/shops/sensor.hpp"

using namespace setwell::shops;
using setwell::core::PriorKind;
using setwell::core::PriorSide;

namespace {

/// Invented tables: two kin, and others that a fit can learn from.
std::string tables_text(double kin_at_5 = 400) {
  std::string text = "sheet,material,quantity,under,temperature_c,minutes_low,minutes_high\n";
  const auto add = [&](const std::string& sheet, const std::string& quantity, std::array<double, 3> minutes) {
    const std::array celsius{"5", "20", "35"};
    for (std::size_t i = 0; i < 3; ++i) {
      const auto time = std::to_string(minutes[i]);
      text += sheet + ",\"urethane, invented\"," + quantity + ",itself," + celsius[i] + "," + time + "," +
              time + "\n";
    }
  };
  add("X1", "recoat-opens", {kin_at_5, 150, 60});
  add("X1b", "recoat-opens", {kin_at_5 * 1.1, 160, 70});
  add("X1", "recoat-closes", {3000, 1200, 500});
  for (int i = 2; i < 8; ++i)
    add("X" + std::to_string(i), "recoat-opens", {500.0 + 20 * i, 200, 90});
  return text;
}

std::vector<Product> products(const std::string& text) {
  return products_of(*setwell::reference::read_tables(text));
}

double energy(const Product& product) {
  return product.priors->row(setwell::core::Family::urethane, PriorKind::opens, PriorSide::colder).prior.mean;
}

Room warm_room() {
  Room room{
      "invented", setwell::quantity::Instant(std::chrono::sys_days(std::chrono::year(2031) / 5 / 5)), {}};
  for (double minute = 0; minute < 20 * 1440; minute += 10)
    room.air.push_back({minute, 20 + 2 * std::sin(minute / 1440 * 6.283), 50});
  return room;
}

ShopPlan plan_of(const Product& product, const Room& room, int coats) {
  ShopPlan plan;
  plan.seed = 7;
  plan.products = {&product};
  plan.room = &room;
  plan.coats = coats;
  return plan;
}

}  // namespace

TEST_CASE("The priors of a simulated sheet never saw it or its kin", "[priors]") {
  const auto usual = products(tables_text()), other = products(tables_text(4000));
  REQUIRE(usual.size() == other.size());
  for (std::size_t i = 0; i < usual.size(); ++i) {
    const bool kin = usual[i].sheet.starts_with("X1");
    INFO(usual[i].sheet);
    CHECK((energy(usual[i]) == energy(other[i])) == kin);
  }
}

TEST_CASE("Every sheet of the tables becomes a product with its closing", "[tables]") {
  const auto all = products(tables_text());
  CHECK(all.size() == 8);
  CHECK(all.front().name == "X1/itself");
  CHECK(all.front().family == "urethane");
  REQUIRE(all.front().closes);
  CHECK(all.front().closes->front().low == Approx(3000));
}

TEST_CASE("The same plan gives the same records, and what is told lies on the safe side", "[shop]") {
  const auto all = products(tables_text());
  const Room room = warm_room();
  ShopPlan plan = plan_of(all.front(), room, 9);
  plan.scatter.sigma = plan.stated_scatter = 0.05;
  const auto once = run_shop(plan), again = run_shop(plan);
  CHECK(json_of(once, {}) == json_of(again, {}));
  REQUIRE(once.size() == 9);
  int told = 0;
  for (const CoatRecord& record : once) {
    told += record.told_at || record.opened_by_touch ? 1 : 0;
    CHECK(opened_too_early(record) <= 0);
    CHECK(closed_too_late(record) <= 0);
  }
  CHECK(told >= 6);
}

TEST_CASE("Where pieces differ more than the settings say, the simulation finds false openings", "[shop]") {
  const auto all = products(tables_text());
  const Room room = warm_room();
  ShopPlan plan = plan_of(all.front(), room, 30);
  plan.scatter.sigma = 0.3;
  plan.k = 1.0;
  plan.stated_scatter = 0.01;
  int early = 0;
  for (const CoatRecord& record : run_shop(plan))
    early += opened_too_early(record) > 0 ? 1 : 0;
  CHECK(early >= 3);
}

TEST_CASE("A sensor's faults are its own: the same seed breaks it in the same places", "[sensor]") {
  const Room room = warm_room();
  const auto heard = [&](std::uint64_t seed) {
    setwell::room::Random random(seed);
    const auto traits = traits_of(random, 10, room.air.back().minute);
    return arrivals_of(traits, room, "t", random);
  };
  const auto once = heard(3), again = heard(3), other = heard(4);
  REQUIRE(once.size() == again.size());
  CHECK(std::equal(once.begin(), once.end(), again.begin(), [](const Arrival& a, const Arrival& b) {
    return a.message.payload == b.message.payload;
  }));
  CHECK(once.front().message.payload != other.front().message.payload);
  CHECK(std::is_sorted(once.begin(), once.end(),
                       [](const Arrival& a, const Arrival& b) { return a.message.row < b.message.row; }));
}
