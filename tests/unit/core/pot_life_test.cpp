#include "daemon/core/pot_life.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "tests/support/materials.hpp"

namespace setwell::tests {

using core::Bounded;
using core::Pot;
using quantity::Grams;

namespace {

core::Material mix(const core::TimeTable& rows) {
  core::Material m = three_row_epoxy();
  m.pot_life = rows;
  m.pot_test_mass = Grams(100);
  return m;
}

Bounded<double> hours(const core::Material& material, double celsius, double grams = 100,
                      Pot pot = Pot::cup) {
  const auto life = core::pot_life(material, Grams(grams), pot, 3.1);
  REQUIRE(life);
  const Bounded<double> rate = life->rates({celsius, celsius, celsius});
  return {1 / rate.slow, 1 / rate.expected, 1 / rate.fast};
}

const core::TimeTable kThreeRows = table({{10, 3.5, 4}, {20, 1.5, 1.5}, {30, 0.5, 0.6}});

}  // namespace

TEST_CASE("stated pot lives are reproduced at the test mass") {
  const core::Material m = mix(kThreeRows);
  CHECK(hours(m, 20).fast == Approx(1.5));
  CHECK(hours(m, 20).slow == Approx(1.5));
  CHECK(hours(m, 10).fast == Approx(3.5));
  CHECK(hours(m, 10).slow == Approx(4.0));
  CHECK(hours(m, 30).fast == Approx(0.5));
}

TEST_CASE("colder than stated the fast pot life gains little, warmer than stated it loses much") {
  const core::Material quick = mix(table({{23, 0.5, 0.5}}));
  const core::Material slow = mix(table({{23, 2, 2}}));
  CHECK(hours(quick, 13).fast == Approx(0.5 / core::rate_factor(15, 13, 23)));
  CHECK(hours(quick, 33).fast == Approx(0.5 / core::rate_factor(65, 33, 23)));
  CHECK(hours(slow, 33).fast == Approx(2.0 / core::rate_factor(95, 33, 23)));
}

TEST_CASE("more mass shortens the fast time to no less than half, and less mass gives no credit") {
  const core::Material m = mix(table({{23, 1, 1}}));
  CHECK(hours(m, 23, 200).fast == Approx(std::pow(2.0, -1.0 / 3.0)));
  CHECK(hours(m, 23, 2900).fast == Approx(0.5));
  CHECK(hours(m, 23, 20).fast == Approx(1.0));
  CHECK(hours(m, 23, 20).slow == Approx(2.0));
}

TEST_CASE("the mass correction lies on the safe side of the heat balance from 100 g to 3 kg") {
  // Gel time relative to 100 g in a cup: 200 g, 500 g, 1 kg, 3 kg, of systems with 30 min, 90 min and 5 h.
  const double grams[] = {200, 500, 1000, 3000};
  const double relative[][4] = {{0.97, 0.94, 0.93, 0.91}, {0.92, 0.85, 0.82, 0.78}, {0.80, 0.67, 0.60, 0.54}};
  const core::Material m = mix(table({{23, 1, 1}}));
  for (const auto& system : relative) {
    for (int i = 0; i < 4; ++i) {
      CHECK(hours(m, 23, grams[i]).fast <= system[i] + 0.005);
      CHECK(hours(m, 23, grams[i]).slow >= system[i]);
    }
  }
}

TEST_CASE("a shallow tray drops the mass correction and never lengthens the fast time") {
  const core::Material m = mix(table({{23, 1, 1}}));
  CHECK(hours(m, 23, 800, Pot::tray).fast == Approx(1.0));
  CHECK(hours(m, 23, 50, Pot::tray).fast == Approx(1.0));
}

TEST_CASE("no time is given above 3 kg, in an insulated pot, or where the sheet states none") {
  const core::Material m = mix(kThreeRows);
  CHECK(core::pot_life(m, Grams(3000), Pot::cup, 3.1));
  CHECK_FALSE(core::pot_life(m, Grams(3001), Pot::cup, 3.1));
  CHECK_FALSE(core::pot_life(m, Grams(100), Pot::insulated, 3.1));
  core::Material silent = m;
  silent.pot_life.reset();
  CHECK_FALSE(core::pot_life(silent, Grams(100), Pot::cup, 3.1));
}

TEST_CASE("a mix without a time, or much of it in a deep pot, has the exotherm caution") {
  CHECK(core::pot_caution(Grams(3500), Pot::cup).starts_with("exotherm"));
  CHECK(core::pot_caution(Grams(100), Pot::insulated).starts_with("exotherm"));
  CHECK(core::pot_caution(Grams(700), Pot::cup).starts_with("exotherm"));
  CHECK(core::pot_caution(Grams(700), Pot::tray).empty());
  CHECK(core::pot_caution(Grams(100), Pot::cup).empty());
}

TEST_CASE("pot-life clocks are ordered and never slower when warmer") {
  const core::TimeTable tables[] = {kThreeRows, table({{23, 0.3, 0.4}}),
                                    table({{5, 12, 12}, {25, 8, 8}, {35, 3, 3}})};
  for (const core::TimeTable& rows : tables) {
    const core::Material m = mix(rows);
    Bounded<double> before{1e9, 1e9, 1e9};
    for (double c = 0; c <= 45; c += 0.1) {
      const Bounded<double> h = hours(m, c, 300);
      REQUIRE(h.fast <= h.expected * (1 + 1e-12));
      REQUIRE(h.expected <= h.slow * (1 + 1e-12));
      REQUIRE(h.fast <= before.fast * (1 + 1e-12));
      REQUIRE(h.slow <= before.slow * (1 + 1e-12));
      before = h;
    }
  }
}

TEST_CASE("every energy of a pot life stands once, says where it comes from, and is one a mix can have") {
  const auto rows = core::pot_energies();
  CHECK(rows.size() == 7);
  for (const core::PotEnergyRow& row : rows) {
    CHECK(row.provenance.size() > 20);
    CHECK(row.kj_per_mol >= 10);
    CHECK(row.kj_per_mol <= 130);
    CHECK(std::count_if(rows.begin(), rows.end(), [&](const auto& each) { return each.of == row.of; }) == 1);
  }
}

TEST_CASE("the clock takes the warmer of resin and air") {
  const Bounded<double> air{17, 18, 19};
  CHECK(core::warmer_of(air, std::nullopt) == air);
  CHECK(core::warmer_of(air, quantity::Celsius(25)) == Bounded<double>{25, 25, 25});
  CHECK(core::warmer_of(air, quantity::Celsius(18)) == Bounded<double>{18, 18, 19});
}

}  // namespace setwell::tests
