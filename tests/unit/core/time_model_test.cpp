#include "daemon/core/time_model.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/coat_clocks.hpp"
#include "tests/support/materials.hpp"

namespace setwell::tests {

using core::ClockRates;
using core::CureFloor;
using core::Family;
using core::LnTime;
using core::Milestone;
using core::Strictness;
using core::TimeModel;

namespace {

TimeModel opens(const core::TimeTable& rows, Family family = Family::epoxy) {
  return TimeModel(rows, family, Milestone::recoat_opens);
}

/// Round figures, so that a test says what the formula does and not what a fit gave.
const core::PriorBook& round_book() {
  static const core::PriorBook kBook(
      {{std::nullopt, core::PriorKind::opens, core::PriorSide::colder, {44.0, 12.0, 1.5, 1.25}, "round"},
       {std::nullopt, core::PriorKind::opens, core::PriorSide::warmer, {40.0, 10.0, 1.0, 1.25}, "round"}},
      2.0);
  return kBook;
}

TimeModel round_opens(const core::TimeTable& rows) {
  return TimeModel(rows, Family::epoxy, Milestone::recoat_opens, round_book());
}

const core::TimeTable kThree = table({{10, 14, 18}, {20, 7, 9}, {30, 4, 4}});

}  // namespace

TEST_CASE("stated rows are reproduced exactly, each with its own range and no spread") {
  const TimeModel model = opens(kThree);
  for (const core::Row& row : kThree.rows) {
    const LnTime t = model.at(row.at.degrees());
    CHECK(std::exp(t.low) == Approx(row.time.low.count()).epsilon(1e-13));
    CHECK(std::exp(t.high) == Approx(row.time.high.count()).epsilon(1e-13));
    CHECK(t.expected == Approx(0.5 * (t.low + t.high)).epsilon(1e-13));
    CHECK(t.spread == 0.0);
  }
}

TEST_CASE("between rows ln t follows the chord in 1/T and the spread is that of a bridge") {
  const TimeModel model = round_opens(kThree);
  const double x = 0.3 * core::inverse_rt(10) + 0.7 * core::inverse_rt(20);
  const double celsius = 1.0 / (core::kGasConstantKj * x) - 273.15;
  const LnTime t = model.at(celsius);
  CHECK(t.high == Approx(0.3 * std::log(18) + 0.7 * std::log(9)).epsilon(1e-10));
  const double width = core::inverse_rt(10) - core::inverse_rt(20);
  CHECK(t.spread == Approx(2.0 * std::sqrt(0.3 * 0.7 * width)).epsilon(1e-8));
  CHECK(t.slow_spread() == t.fast_spread());
}

TEST_CASE("with one row the time follows the prior's energy and the spread grows with distance") {
  const TimeModel model = round_opens(table({{20, 6, 6}}));
  double before = 0;
  for (double c = 19.5; c >= 0; c -= 0.5) {
    const LnTime t = model.at(c);
    const double x = core::inverse_rt(c) - core::inverse_rt(20);
    CHECK(t.expected == Approx(std::log(6) + 44.0 * x).epsilon(1e-12));
    CHECK(t.spread == Approx(std::sqrt(144.0 * x * x + 2.25 * x)).epsilon(1e-12));
    CHECK(t.slow_spread() == Approx(1.25 * t.spread).epsilon(1e-12));
    CHECK(t.fast_spread() == Approx(t.spread / 1.25).epsilon(1e-12));
    CHECK(t.spread > before);
    before = t.spread;
  }
  const double x = core::inverse_rt(30) - core::inverse_rt(20);
  CHECK(model.at(30).expected == Approx(std::log(6) + 40.0 * x).epsilon(1e-12));
  CHECK(model.at(30).spread == Approx(std::sqrt(100.0 * x * x - x)).epsilon(1e-12));
}

TEST_CASE("clocks made with another book of priors agree on stated rows and differ beyond them") {
  const core::Material material = one_row_epoxy();
  std::vector<core::PriorRow> rows = core::built_in_priors().rows();
  for (core::PriorRow& row : rows)
    row.prior.mean += 20.0;
  const core::PriorBook steep(rows, core::built_in_priors().bend());
  const auto usual = core::clocks_of(material, core::Load::none, {});
  const auto other = core::clocks_of(material, core::Load::none, {}, steep);
  REQUIRE(usual->size() == other->size());
  const ClockRates& a = *usual->front().rates;
  const ClockRates& b = *other->front().rates;
  CHECK(b.expected(20) == Approx(a.expected(20)).epsilon(1e-12));
  const double x = core::inverse_rt(14) - core::inverse_rt(20);
  CHECK(b.expected(14) == Approx(a.expected(14) * std::exp(-20.0 * x)).epsilon(1e-5));
}

TEST_CASE("with two rows or more the bend of tables takes the place of the wander beyond them") {
  const TimeModel model = round_opens(kThree);
  const double x = core::inverse_rt(4) - core::inverse_rt(10);
  CHECK(model.at(4).spread == Approx(std::sqrt(144.0 * x * x + 4.0 * x)).epsilon(1e-12));
}

TEST_CASE("the bounds never come nearer to each other with distance from the rows") {
  for (const TimeModel& model : {opens(kThree), opens(table({{20, 6, 6}}))}) {
    double colder = 0, warmer = 0;
    for (double off = 0; off < 40; off += 0.25) {
      const LnTime cold = model.at(model.coldest_row_c() - off);
      const LnTime warm = model.at(model.warmest_row_c() + off);
      CHECK(cold.spread >= colder);
      CHECK(warm.spread >= warmer);
      colder = cold.spread;
      warmer = warm.spread;
    }
  }
}

TEST_CASE("beyond several rows the energy lies between the prior's and the end chord's") {
  const TimeModel model = round_opens(kThree);
  const double chord =
      (model.at(10).expected - model.at(20).expected) / (core::inverse_rt(10) - core::inverse_rt(20));
  const double used =
      (model.at(0).expected - model.at(10).expected) / (core::inverse_rt(0) - core::inverse_rt(10));
  CHECK(used > std::min(44.0, chord));
  CHECK(used < std::max(44.0, chord));
}

TEST_CASE("hardness colder than stated covers energies from 15 to 150 at the strictest setting") {
  const core::Priors hard = core::priors_for(Family::epoxy, Milestone::sandable);
  CHECK(hard.colder.mean - 3.1 * hard.colder.spread < 15.0);
  CHECK(hard.colder.mean + 3.1 * hard.colder.spread > 150.0);
}

TEST_CASE("priors stray further to the side that hurts: an opening later, a closing earlier") {
  for (const bool colder : {true, false}) {
    const auto of = [&](Milestone m) {
      const core::Priors priors = core::priors_for(Family::epoxy, m);
      return colder ? priors.colder : priors.warmer;
    };
    CHECK(of(Milestone::recoat_opens).skew > 1.0);
    CHECK(of(Milestone::gap_ends).skew > 1.0);
    CHECK(of(Milestone::recoat_closes).skew < 1.0);
    CHECK(of(Milestone::gap_begins).skew < 1.0);
  }
}

TEST_CASE("every family has priors for every milestone, and they are energies that films can have") {
  for (Family family : core::kFamilies) {
    for (const Milestone m : {Milestone::flash_off_over, Milestone::tack_free, Milestone::recoat_opens,
                              Milestone::recoat_closes, Milestone::full_cure, Milestone::pot_life_over}) {
      const core::Priors priors = core::priors_for(family, m);
      for (const core::EnergyPrior& prior : {priors.colder, priors.warmer}) {
        CHECK(prior.mean > 20.0);
        CHECK(prior.mean < 95.0);
        CHECK(prior.spread > 4.0);
        CHECK(prior.wander > 0.5);
      }
      CHECK(priors.bend >= 0.5);
    }
  }
}

TEST_CASE("every prior and every floor says where it comes from") {
  for (Family family : core::kFamilies) {
    CHECK_FALSE(core::provenance_of_floor(family).empty());
    for (Milestone m : {Milestone::tack_free, Milestone::full_cure}) {
      CHECK_FALSE(core::provenance_of_priors(family, m, true).empty());
      CHECK_FALSE(core::provenance_of_priors(family, m, false).empty());
    }
  }
}

TEST_CASE("a closing without limit never comes, and one row without limit does not undo the others") {
  const TimeModel none = opens(never());
  CHECK(none.never());
  const ClockRates rates(none, core::floor_for(std::nullopt, none, Family::epoxy), {});
  CHECK(rates.never());
  CHECK(rates.fast(35) == 0.0);
  core::TimeTable mixed = table({{10, 48, 48}});
  mixed.rows.push_back(never().rows.front());
  CHECK(std::exp(opens(mixed).at(10).high) == Approx(48));
}

TEST_CASE("a stated floor stops the slow and the expected clock below it, never the fast one") {
  const TimeModel model = opens(kThree);
  const CureFloor floor = core::floor_for(quantity::Celsius(8), model, Family::epoxy);
  CHECK_FALSE(floor.assumed);
  const ClockRates rates(model, floor, {});
  CHECK(rates.slow(7.999) == 0.0);
  CHECK(rates.expected(7.999) == 0.0);
  CHECK(rates.likely(7.999) == 0.0);
  CHECK(rates.fast(7.999) > 0.0);
  CHECK(rates.slow(8.0) > 0.0);
  CHECK(rates.expected(8.0) == Approx(std::exp(-model.at(8).expected)).epsilon(1e-9));
}

TEST_CASE("an assumed floor stops the slow clock only, and stays below the coldest stated row") {
  const TimeModel cold = opens(kThree);
  const CureFloor below_row = core::floor_for(std::nullopt, cold, Family::epoxy);
  CHECK(below_row.assumed);
  CHECK(*below_row.slow_c < 10.0);
  CHECK_FALSE(below_row.expected_c);
  const TimeModel warm = opens(table({{23, 6, 6}}));
  const CureFloor of_family = core::floor_for(std::nullopt, warm, Family::epoxy);
  CHECK(*of_family.slow_c == core::floor_upper_c(Family::epoxy));
  const ClockRates rates(warm, of_family, {});
  CHECK(rates.slow(*of_family.slow_c - 0.01) == 0.0);
  CHECK(rates.expected(*of_family.slow_c - 0.01) > 0.0);
}

TEST_CASE("above the warmest stated row the slow clock runs at that row's rate") {
  const TimeModel model = opens(kThree);
  const ClockRates rates(model, {}, {});
  for (double c : {30.5, 36.0, 60.0})
    CHECK(rates.slow(c) == Approx(rates.slow(30.0)).epsilon(1e-14));
  CHECK(rates.expected(36) > rates.expected(30));
}

TEST_CASE("on a row the bounds are the row's ends and the scatter, k times") {
  const Strictness strict{2.5, 0.08};
  const ClockRates rates(opens(kThree), {}, strict);
  CHECK(1.0 / rates.slow(20) == Approx(9 * std::exp(2.5 * 0.08)).epsilon(1e-12));
  CHECK(1.0 / rates.fast(20) == Approx(7 * std::exp(-2.5 * 0.08)).epsilon(1e-12));
  CHECK(1.0 / rates.expected_upper(20) == Approx(9).epsilon(1e-12));
}

TEST_CASE("a touch test is likely to find it there from about 1.1 times the expected time on a row") {
  const ClockRates rates(opens(table({{10, 8, 8}, {20, 4, 4}})), {}, {});
  CHECK(rates.expected(20) / rates.likely(20) == Approx(std::exp(0.0906)).epsilon(1e-3));
  const ClockRates far(opens(table({{30, 4, 4}})), {}, {});
  CHECK(far.expected(12) / far.likely(12) > 1.15);
}

TEST_CASE("spread and scatter are joined in quadrature and taken k times") {
  const TimeModel model = opens(table({{20, 6, 6}}));
  const ClockRates rates(model, {}, {3.0, 0.1});
  for (double c : {18.3, 12.7, 5.5}) {
    const LnTime t = model.at(c);
    const double later = 3.0 * std::hypot(t.slow_spread(), 0.1);
    const double earlier = 3.0 * std::hypot(t.fast_spread(), 0.1);
    CHECK(rates.slow(c) == Approx(std::exp(-(t.high + later))).epsilon(3e-6));
    CHECK(rates.fast(c) == Approx(std::exp(-(t.low - earlier))).epsilon(3e-6));
  }
}

TEST_CASE("the last quarter of full cure needs warmth near the coldest row stated for it") {
  const TimeModel model(table({{20, 160, 160}}), Family::epoxy, Milestone::full_cure);
  CHECK(core::full_cure_least_c(model, {13.0, std::nullopt, true}) == Approx(15.0));
  CHECK(core::full_cure_least_c(model, {17.0, 17.0, false}) == Approx(17.0));
}

}  // namespace setwell::tests
