#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/time_model.hpp"
#include "tests/support/materials.hpp"

/// Rules that hold for any table a sheet can state, tried on random ones.
namespace setwell::tests {

using core::ClockRates;
using core::CureFloor;
using core::Family;
using core::Milestone;
using core::TimeModel;

namespace {

double between(std::mt19937& random, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random);
}

/// One to five rows; energies from `least` on, so with a negative one some rows contradict their neighbours.
core::TimeTable random_table(std::mt19937& random, double least_energy) {
  core::TimeTable rows;
  const int count = 1 + static_cast<int>(random() % 5);
  double celsius = between(random, -2, 25);
  double ln_low = between(random, -1, 4);
  double ln_high = ln_low + (random() % 2 == 0 ? 0.0 : between(random, 0.0, 0.5));
  for (int i = 0; i < count; ++i) {
    rows.rows.push_back({quantity::Celsius(celsius), hours_stated(std::exp(ln_low), std::exp(ln_high)), "1"});
    const double next = celsius + between(random, 2, 14);
    const double drop = core::inverse_rt(celsius) - core::inverse_rt(next);
    ln_low -= between(random, least_energy, 130) * drop;
    ln_high = std::max(ln_low, ln_high - between(random, least_energy, 130) * drop);
    celsius = next;
  }
  return rows;
}

struct RandomClock {
  TimeModel model;
  CureFloor floor;
  ClockRates rates;
};

RandomClock random_clock(std::mt19937& random, double least_energy) {
  const Family family = core::kFamilies[random() % core::kFamilies.size()];
  const Milestone milestone = random() % 2 == 0 ? Milestone::recoat_opens : Milestone::sandable;
  const TimeModel model(random_table(random, least_energy), family, milestone);
  std::optional<quantity::Celsius> stated;
  if (random() % 2 == 0) stated = quantity::Celsius(between(random, -5, 15));
  const CureFloor floor = core::floor_for(stated, model, family);
  return {model, floor, ClockRates(model, floor, {3.1, between(random, 0.0, 0.2)})};
}

constexpr int kTables = 60;

}  // namespace

TEST_CASE("slow <= likely <= expected <= fast at any temperature of any table, contradictory ones included") {
  std::mt19937 random(20310304);
  for (int i = 0; i < kTables; ++i) {
    const RandomClock clock = random_clock(random, i % 2 == 0 ? 5.0 : -60.0);
    for (double c = -25; c <= 70; c += 0.213) {
      const ClockRates& r = clock.rates;
      REQUIRE(r.slow(c) <= r.expected(c) * (1 + 1e-12));
      REQUIRE(r.expected(c) <= r.fast(c) * (1 + 1e-12));
      REQUIRE(r.likely(c) <= r.expected(c) * (1 + 1e-12));
      REQUIRE(r.slow(c) <= r.likely(c) + (clock.floor.expected_c ? 0.0 : 1e-12));
      REQUIRE(r.expected_upper(c) <= r.expected(c) * (1 + 1e-12));
    }
  }
}

TEST_CASE("warmer is never slower, for every clock") {
  std::mt19937 random(7);
  for (int i = 0; i < kTables; ++i) {
    const RandomClock clock = random_clock(random, i % 2 == 0 ? 5.0 : -60.0);
    for (double c = -25; c <= 70; c += 0.171) {
      const double next = c + 0.171;
      const ClockRates& r = clock.rates;
      REQUIRE(r.slow(next) >= r.slow(c) * (1 - 1e-12));
      REQUIRE(r.expected(next) >= r.expected(c) * (1 - 1e-12));
      REQUIRE(r.fast(next) >= r.fast(c) * (1 - 1e-12));
      REQUIRE(r.likely(next) >= r.likely(c) * (1 - 1e-12));
    }
  }
}

TEST_CASE("the running bounds never lie outside the pointwise ones where the rows fall with warmth") {
  std::mt19937 random(11);
  for (int i = 0; i < kTables; ++i) {
    const RandomClock clock = random_clock(random, 5.0);
    const ClockRates pointwise_k(clock.model, clock.floor, {3.1, 0.1});
    for (double c = clock.model.coldest_row_c(); c <= clock.model.warmest_row_c(); c += 0.37) {
      const core::LnTime t = clock.model.at(c);
      const double wide = 3.1 * std::hypot(t.spread, 0.1);  // between rows there is no skew
      if (!clock.floor.slow_c || c >= *clock.floor.slow_c) {
        REQUIRE(pointwise_k.slow(c) >= std::exp(-(t.high + wide)) * (1 - 2e-5));
      }
      REQUIRE(pointwise_k.fast(c) <= std::exp(-(t.low - wide)) * (1 + 2e-5));
    }
  }
}

TEST_CASE("a larger k or a larger scatter only widens the bounds") {
  std::mt19937 random(23);
  for (int i = 0; i < kTables; ++i) {
    const RandomClock clock = random_clock(random, -30.0);
    const ClockRates narrow(clock.model, clock.floor, {2.0, 0.05});
    const ClockRates wide(clock.model, clock.floor, {3.0, 0.10});
    for (double c = -10; c <= 60; c += 0.77) {
      REQUIRE(wide.slow(c) <= narrow.slow(c) * (1 + 1e-12));
      REQUIRE(wide.fast(c) >= narrow.fast(c) * (1 - 1e-12));
      REQUIRE(wide.expected(c) == Approx(narrow.expected(c)).epsilon(1e-9));
    }
  }
}

TEST_CASE("the assumed floor is below the coldest stated row whatever the family") {
  std::mt19937 random(5);
  for (int i = 0; i < kTables; ++i) {
    for (Family family : core::kFamilies) {
      const TimeModel model(random_table(random, 5.0), family, Milestone::recoat_opens);
      REQUIRE(*core::floor_for(std::nullopt, model, family).slow_c < model.coldest_row_c());
    }
  }
}

}  // namespace setwell::tests
