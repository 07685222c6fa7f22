#include "daemon/core/drying.hpp"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/blush.hpp"
#include "sensors/air/saturation.hpp"

namespace setwell::tests {

using core::AirAtPiece;
using core::Family;
using core::RateFactors;
using quantity::Micrometres;
using quantity::RelativeHumidity;

namespace {

AirAtPiece exactly(double surface, double air, double humidity) {
  return {{surface, surface, surface}, {air, air, air}, {humidity, humidity, humidity}, 0.0};
}

RateFactors at(Family family, const AirAtPiece& air, double reference = 50) {
  return core::humidity_factors(family, air, RelativeHumidity::percent(reference));
}

bool ordered(const RateFactors& f) {
  return f.slow <= f.expected && f.expected <= f.fast;
}

RateFactors film(Family family, double film_um, double reference_um) {
  return core::film_factors(family, Micrometres(film_um), Micrometres(reference_um));
}

}  // namespace

TEST_CASE("the humidity factors are 1 at the sheet's own humidity, at every temperature") {
  for (Family family : core::kFamilies) {
    for (double c = 2; c <= 40; c += 2) {
      for (double reference : {40.0, 50.0, 70.0}) {
        const RateFactors f = at(family, exactly(c, c, reference), reference);
        CHECK(f.slow == Approx(1.0).epsilon(1e-12));
        CHECK(f.expected == Approx(1.0).epsilon(1e-12));
        CHECK(f.fast == Approx(1.0).epsilon(1e-12));
      }
    }
  }
}

TEST_CASE("a sheet silent about humidity is taken at 50 %") {
  const RateFactors f = core::humidity_factors(Family::water_borne, exactly(20, 20, 50), std::nullopt);
  CHECK(f.expected == Approx(1.0).epsilon(1e-12));
}

TEST_CASE("water-borne films dry at the ratio of driving forces, relative to the row at that temperature") {
  const RateFactors f = at(Family::water_borne, exactly(16, 19, 60));
  const double h = core::drying_factor(16, 19, 60, 23, 50) / core::drying_factor(16, 16, 50, 23, 50);
  CHECK(f.expected == Approx(h).epsilon(1e-12));
  CHECK(f.slow == Approx(h).epsilon(1e-12));
}

TEST_CASE("dry air gives the slow clock of a water-borne film no credit") {
  const RateFactors f = at(Family::water_borne, exactly(20, 20, 20));
  CHECK(f.slow == 1.0);
  CHECK(f.expected == Approx(1.6));
}

TEST_CASE("up to 80 % humidity the fast clock of a water-borne film is not slowed") {
  CHECK(at(Family::water_borne, exactly(20, 20, 79)).fast == 1.0);
  CHECK(at(Family::water_borne, exactly(20, 20, 90)).fast == Approx(0.5).epsilon(1e-9));
}

TEST_CASE("where water condenses a water-borne film dries on no clock but the fast one") {
  const RateFactors f = at(Family::water_borne, exactly(8, 20, 70));
  CHECK(f.slow == 0.0);
  CHECK(f.expected == 0.0);
  CHECK(f.fast == 1.0);
}

TEST_CASE("moisture cure follows absolute humidity to a power between a half and one") {
  const RateFactors dry = at(Family::moisture_cured_urethane, exactly(20, 20, 25));
  CHECK(dry.slow == Approx(0.5).epsilon(1e-12));
  CHECK(dry.fast == Approx(std::sqrt(0.5)).epsilon(1e-12));
  const RateFactors damp = at(Family::moisture_cured_urethane, exactly(20, 20, 75));
  CHECK(damp.slow == Approx(std::sqrt(1.5)).epsilon(1e-12));
  CHECK(damp.fast == Approx(1.5).epsilon(1e-12));
}

TEST_CASE("reactive and solvent films take no humidity factor") {
  for (Family family : {Family::epoxy, Family::urethane, Family::alkyd, Family::solvent_lacquer}) {
    CHECK(at(family, exactly(10, 20, 90)) == RateFactors{});
    CHECK_FALSE(core::humidity_matters(family));
  }
}

TEST_CASE("slow <= expected <= fast for any bounds, and the true factor lies between slow and fast") {
  std::mt19937 random(31);
  const auto draw = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 2000; ++i) {
    const double air = draw(2, 35), surface = air + draw(-6, 6), rh = draw(5, 100), off = draw(0, 1.0);
    const AirAtPiece told{{surface - off, surface, surface + off},
                          {air - off, air, air + off},
                          core::humidity_within(rh, 5),
                          0.5};
    for (Family family : {Family::water_borne, Family::moisture_cured_urethane}) {
      const RateFactors f = at(family, told);
      REQUIRE(ordered(f));
      const double shift = draw(-off, off);
      const RateFactors truth = at(family, exactly(surface + shift, air + shift, rh + draw(-5, 5)));
      REQUIRE(f.slow <= truth.slow + 1e-9);
      if (family == Family::water_borne) REQUIRE(f.fast >= truth.expected - 1e-9);
    }
  }
}

TEST_CASE("an unknown or equal film changes nothing") {
  CHECK(core::film_factors(Family::epoxy, std::nullopt, Micrometres(100)) == RateFactors{});
  CHECK(core::film_factors(Family::epoxy, Micrometres(100), std::nullopt) == RateFactors{});
  for (Family family : core::kFamilies)
    CHECK(film(family, 120, 120) == RateFactors{});
}

TEST_CASE("a thicker evaporating film is slower by any power from 1 to 2, and closes no later") {
  const RateFactors f = film(Family::solvent_lacquer, 200, 100);
  CHECK(f.slow <= std::pow(2.0, -2.0) + 1e-12);
  CHECK(f.expected < 1.0 / 2.0);
  CHECK(f.expected > 1.0 / 4.0);
  CHECK(f.fast == 1.0);
}

TEST_CASE("a thinner evaporating film opens no earlier on the slow clock and may close earlier") {
  const RateFactors f = film(Family::water_borne, 50, 100);
  CHECK(f.slow == 1.0);
  CHECK(f.fast == Approx(4.0));
  CHECK(ordered(f));
}

TEST_CASE("a reactive film thinner than a poured test is slower, within bounds; thin tests do not matter") {
  const RateFactors thin = film(Family::epoxy, 300, 3000);
  CHECK(thin.slow < thin.expected);
  CHECK(thin.expected < 1.0);
  CHECK(thin.slow > 0.2);
  CHECK(thin.fast == 1.0);
  CHECK(film(Family::epoxy, 80, 200).slow > 0.99);
  CHECK(film(Family::epoxy, 1, 1e6).slow >= 0.2 - 1e-12);
}

TEST_CASE("of all depths at which a layer may warm itself the bounds take the most telling one") {
  // Both layers at their least share for the shallowest depth: alike there, and not alike at all elsewhere.
  const RateFactors casting = film(Family::epoxy, 8000, 20000);
  const double eight_mm = 1.0 / (1.0 + (8.0 / 6.5) * (8.0 / 6.5));
  CHECK(casting.slow == Approx(0.2 / eight_mm));
  CHECK(casting.expected == Approx(0.2 / eight_mm));
  CHECK(film(Family::epoxy, 20000, 8000).fast == Approx(eight_mm / 0.2));
  for (double reference : {1500.0, 4000.0, 7000.0, 11000.0, 30000.0}) {
    for (double other : {300.0, 2000.0, 6000.0, 9000.0}) {
      const auto share = [](double um, double depth) {
        return std::max(0.2, 1.0 / (1.0 + um / 1000 / depth * um / 1000 / depth));
      };
      for (double depth = 2.7; depth <= 6.5; depth += 0.05) {
        const double speed = share(reference, depth) / share(other, depth);
        REQUIRE(film(Family::epoxy, other, reference).slow <= speed + 1e-9);
        REQUIRE(film(Family::epoxy, other, reference).fast >= speed - 1e-9);
      }
    }
  }
}

TEST_CASE("the share of the isothermal time is on the safe side of the heat balance") {
  // Gel times of layers of 3, 5, 10 and 40 mm from the balance, minutes; 360 without self-heating.
  const double layer_mm[] = {3, 5, 10, 40};
  const double gel_min[] = {297, 247, 117, 72};
  for (int i = 0; i < 4; ++i) {
    const double share = gel_min[i] / 360.0;
    CHECK(film(Family::epoxy, 1, layer_mm[i] * 1000).expected <= share + 0.006);
  }
}

TEST_CASE("film factors are ordered for any films of any family") {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> ln(std::log(5.0), std::log(20000.0));
  for (int i = 0; i < 500; ++i) {
    for (Family family : core::kFamilies) {
      REQUIRE(ordered(film(family, std::exp(ln(random)), std::exp(ln(random)))));
    }
  }
}

TEST_CASE("the blush weight counts damp and cold, and nothing below 60 %") {
  CHECK(core::blush_weight(0.60, 5) == 0.0);
  CHECK(core::blush_weight(0.85, 10) == Approx(1.0));
  CHECK(core::blush_weight(0.95, 30) == Approx(0.2));
  CHECK(core::blush_weight(0.70, 15) < core::blush_weight(0.80, 15));
  CHECK(core::blush_weight(0.80, 20) < core::blush_weight(0.80, 12));
}

TEST_CASE("flashing solvent and water ask for a larger dew margin") {
  CHECK(core::least_dew_margin(Family::epoxy, core::Film::set).kelvin() == 3.0);
  CHECK(core::least_dew_margin(Family::epoxy, core::Film::flashing).kelvin() == 3.0);
  CHECK(core::least_dew_margin(Family::solvent_lacquer, core::Film::flashing) >
        core::least_dew_margin(Family::solvent_lacquer, core::Film::set));
}

}  // namespace setwell::tests
