#include "daemon/core/learned.hpp"

#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/time_model.hpp"
#include "daemon/core/touch_age.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// What touch tests teach, and what they must never do.
namespace setwell::tests {

using core::ClockRates;
using core::LearnedShift;
using core::Lesson;
using core::Milestone;
using core::Proof;
using core::TestedCoat;
using core::TouchOnClock;
using quantity::EntryId;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr double kScatter = 0.10;
constexpr Instant kLater = kMonday + days(100);

/// Piece number `i`, found not there at `low` and there at `high` times the sheet's time.
TestedCoat tested(int i, double low, double high, const std::string& lot = "") {
  return {EntryId(i + 1),
          kMonday + hours(i),
          lot,
          {{Proof::not_yet, low, 0.05, 0.0}, {Proof::reached, high, 0.05, 0.0}}};
}

std::vector<TestedCoat> alike(int count, double low, double high) {
  std::vector<TestedCoat> coats;
  for (int i = 0; i < count; ++i)
    coats.push_back(tested(i, low, high));
  return coats;
}

Lesson lesson_from(const std::vector<TestedCoat>& coats) {
  return core::learn(coats, kScatter, kLater, "");
}

std::vector<TestedCoat> random_coats(std::mt19937& random, int count) {
  std::vector<TestedCoat> coats;
  const double factor = uniform(random, -0.7, 0.7), scatter = uniform(random, 0.0, 0.4);
  for (int i = 0; i < count; ++i) {
    const double ln = factor + scatter * uniform(random, -2, 2);
    TestedCoat coat{EntryId(1 + random() % 40), kMonday + minutes(random() % 100000), "", {}};
    if (random() % 3 == 0) coat.lot = "lot-" + std::to_string(random() % 3);
    for (int t = 0; t < 1 + static_cast<int>(random() % 3); ++t) {
      const double ratio = std::exp(ln + uniform(random, -0.4, 0.4));
      // One word in ten is plainly wrong.
      const bool reached = (std::log(ratio) > ln) != (random() % 10 == 0);
      coat.tests.push_back({reached ? Proof::reached : Proof::not_yet, ratio, uniform(random, 0, 0.4),
                            uniform(random, 0, 0.3)});
    }
    coats.push_back(std::move(coat));
  }
  return coats;
}

core::TimeTable random_table(std::mt19937& random) {
  core::TimeTable rows;
  double celsius = uniform(random, 2, 25), ln = uniform(random, -1, 4);
  for (int i = 0; i < 1 + static_cast<int>(random() % 4); ++i) {
    const double wide = random() % 2 ? 0 : uniform(random, 0, 0.4);
    rows.rows.push_back({quantity::Celsius(celsius), hours_stated(std::exp(ln), std::exp(ln + wide)), "1"});
    celsius += uniform(random, 3, 12);
    ln -= uniform(random, 0.45, 0.9);
  }
  return rows;
}

}  // namespace

TEST_CASE(
    "nothing is told from two pieces, a delay from three, a closing from five, less scatter from twenty",
    "[learning]") {
  CHECK_FALSE(core::shift_from(lesson_from(alike(2, 1.1, 1.3)), kScatter));
  const auto three = core::shift_from(lesson_from(alike(3, 1.1, 1.3)), kScatter);
  REQUIRE(three);
  CHECK(three->delays);
  CHECK_FALSE(three->closes);
  CHECK_FALSE(three->replaces);
  CHECK_FALSE(core::closing_shift_from(lesson_from(alike(4, 0.7, 0.9)), kScatter));
  CHECK(core::shift_from(lesson_from(alike(5, 0.7, 0.9)), kScatter)->closes);
  CHECK(core::closing_shift_from(lesson_from(alike(5, 0.7, 0.9)), kScatter)->closes);
  CHECK_FALSE(core::shift_from(lesson_from(alike(19, 0.95, 1.05)), kScatter)->replaces);
  CHECK(core::shift_from(lesson_from(alike(20, 0.95, 1.05)), kScatter)->replaces);
}

TEST_CASE("several coats of one piece count as one piece", "[learning]") {
  auto coats = alike(6, 0.9, 1.1);
  for (TestedCoat& coat : coats)
    coat.piece = EntryId(7);
  CHECK(lesson_from(coats).pieces == 1);
  CHECK(lesson_from(coats).tests == 12);
}

TEST_CASE("the factor is found, and without tests there is none", "[learning]") {
  const Lesson none = lesson_from({});
  CHECK(none.pieces == 0);
  CHECK(none.scatter_ln == kScatter);
  CHECK(lesson_from(alike(12, 1.15, 1.25)).mean_ln == Approx(std::log(1.2)).margin(0.02));
  CHECK(lesson_from(alike(12, 0.75, 0.85)).mean_ln == Approx(std::log(0.8)).margin(0.02));
}

TEST_CASE("scatter is widened at once by pieces that differ, and narrowed only from twenty alike",
          "[learning]") {
  std::vector<TestedCoat> apart;
  for (int i = 0; i < 8; ++i)
    apart.push_back(i % 2 ? tested(i, 0.6, 0.85) : tested(i, 1.2, 1.6));
  CHECK(lesson_from(apart).scatter_ln > 1.5 * kScatter);
  CHECK(core::shift_from(lesson_from(apart), kScatter)->scatter_ln > 1.5 * kScatter);
  CHECK(core::shift_from(lesson_from(alike(19, 0.99, 1.01)), kScatter)->scatter_ln >= kScatter);
  CHECK(core::shift_from(lesson_from(alike(40, 0.99, 1.01)), kScatter)->scatter_ln < kScatter);
  CHECK(core::shift_from(lesson_from(alike(400, 0.99, 1.01)), kScatter)->scatter_ln >= 0.5 * kScatter);
}

TEST_CASE("one test against all others does not undo them, and one that contradicts itself neither",
          "[learning]") {
  auto coats = alike(8, 0.95, 1.1);
  const Lesson before = lesson_from(coats);
  coats.push_back(tested(8, 6.0, 7.0));
  const Lesson after = lesson_from(coats);
  CHECK(std::isfinite(after.mean_ln));
  CHECK(after.mean_ln == Approx(before.mean_ln).margin(0.06));
  coats.back() = tested(8, 1.3, 0.8);
  CHECK(lesson_from(coats).mean_ln == Approx(before.mean_ln).margin(0.06));
  CHECK(lesson_from(coats).spread_ln < 0.25);
}

TEST_CASE("a new lot and a long time loosen what was learned; an unknown lot does not", "[learning]") {
  auto coats = alike(12, 0.9, 1.0);
  for (TestedCoat& coat : coats)
    coat.lot = "A-17";
  const Instant soon = kMonday + hours(13);
  const double same = core::learn(coats, kScatter, soon, "A-17").spread_ln;
  CHECK(core::learn(coats, kScatter, soon, "").spread_ln == same);
  const double other = core::learn(coats, kScatter, soon, "B-02").spread_ln;
  CHECK(other == Approx(std::hypot(same, 0.05)).epsilon(1e-6));
  CHECK(core::learn(coats, kScatter, soon + days(364), "A-17").spread_ln > std::hypot(same, 0.069));
  // A lot that changes among the tests weakens the earlier ones.
  auto mixed = alike(6, 1.25, 1.35);
  for (int i = 6; i < 9; ++i)
    mixed.push_back(tested(i, 0.8, 0.9));
  const double blurred = lesson_from(mixed).mean_ln;
  for (int i = 0; i < 9; ++i)
    mixed[static_cast<std::size_t>(i)].lot = i < 6 ? "A-17" : "B-02";
  CHECK(lesson_from(mixed).mean_ln < blurred);
}

TEST_CASE("a test at an age hardly known teaches nothing", "[learning]") {
  auto coats = alike(6, 0.8, 0.9);
  for (TestedCoat& coat : coats) {
    for (TouchOnClock& test : coat.tests)
      test.doubt_ln = std::numeric_limits<double>::infinity();
  }
  CHECK(lesson_from(coats).pieces == 0);
}

TEST_CASE("what is learned does not depend on the order of the coats, and later tests are not seen",
          "[learning]") {
  std::mt19937 random(41);
  for (int trial = 0; trial < 20; ++trial) {
    auto coats = random_coats(random, 15);
    const Instant when = kMonday + minutes(50000);
    const Lesson lesson = core::learn(coats, kScatter, when, "");
    std::shuffle(coats.begin(), coats.end(), random);
    REQUIRE(core::learn(coats, kScatter, when, "").mean_ln == Approx(lesson.mean_ln).epsilon(1e-9));
    std::erase_if(coats, [&](const TestedCoat& coat) { return coat.tested >= when; });
    REQUIRE(core::learn(coats, kScatter, when, "").pieces == lesson.pieces);
  }
}

TEST_CASE("whatever was felt, learning opens nothing before the sheet's own time and closes nothing later",
          "[learning]") {
  std::mt19937 random(42);
  int replaced = 0;
  for (int trial = 0; trial < 150; ++trial) {
    const Lesson lesson = lesson_from(random_coats(random, static_cast<int>(random() % 60)));
    const core::TimeModel model(random_table(random), core::kFamilies[random() % core::kFamilies.size()],
                                Milestone::recoat_opens);
    const core::CureFloor floor;
    const core::Strictness strictness{3.1, kScatter};
    const ClockRates plain(model, floor, strictness);
    for (const auto& shift :
         {core::shift_from(lesson, kScatter), core::closing_shift_from(lesson, kScatter)}) {
      if (!shift) continue;
      const ClockRates learned(model, floor, strictness, &*shift);
      replaced += shift->replaces;
      for (double c = -10; c <= 45; c += 0.41) {
        const double own = std::exp(-model.at(std::min(c, model.warmest_row_c())).high);
        REQUIRE(learned.slow(c) <= own * (1 + 2e-5));
        if (!shift->replaces) REQUIRE(learned.slow(c) <= plain.slow(c) * (1 + 1e-12));
        REQUIRE(learned.fast(c) >= plain.fast(c) * (1 - 1e-12));
        REQUIRE(learned.slow(c) <= learned.expected(c) * (1 + 1e-12));
        REQUIRE(learned.expected(c) <= learned.fast(c) * (1 + 1e-12));
        REQUIRE(learned.expected_upper(c) <= plain.expected_upper(c) * (1 + 1e-12));
      }
    }
  }
  CHECK(replaced > 10);
}

TEST_CASE("over any history a learned opening comes no earlier than the sheet's, a learned closing no later",
          "[learning]") {
  std::mt19937 random(43);
  for (int trial = 0; trial < 25; ++trial) {
    const core::AirHistory air =
        room(kMonday, days(4), minutes(10), wave(uniform(random, 10, 24), uniform(random, 0, 6)), 0.5);
    const Lesson lesson = lesson_from(random_coats(random, 5 + static_cast<int>(random() % 60)));
    core::CoatCase plain = coat_of(three_row_epoxy(), kMonday + hours(1), minutes(5));
    core::CoatCase learned = plain;
    learned.learned = core::shifts_of(
        *plain.material, [&](Milestone, int) { return lesson; }, kScatter);
    // The sheet's own times, without any scatter and without a lesson.
    core::CoatCase sheet = plain;
    sheet.strictness = {0.0, 0.0};
    const Instant now = kMonday + days(4);
    const auto p = run_of(plain).outlook(only(air), now), l = run_of(learned).outlook(only(air), now),
               s = run_of(sheet).outlook(only(air), now);
    for (std::size_t c = 0; c < p.clocks.size(); ++c) {
      REQUIRE(l.clocks[c].progress.slow <= s.clocks[c].progress.slow + 1e-6);
      REQUIRE(l.clocks[c].progress.fast >= p.clocks[c].progress.fast - 1e-6);
      if (lesson.pieces < core::kLearnedNarrowsFrom)
        REQUIRE(l.clocks[c].progress.slow <= p.clocks[c].progress.slow + 1e-6);
    }
    const auto* opens = l.clock(Milestone::recoat_opens, 0);
    CHECK(opens->basis.contains(core::Basis::learned) == (lesson.pieces >= core::kLearnedShownFrom));
  }
}

TEST_CASE("a coat's age is counted in the sheet's own time, past it too, and later readings leave it alone",
          "[learning]") {
  core::CoatCase coat = coat_of(three_row_epoxy(), kMonday + hours(1));
  coat.clocks = core::age_clocks_of(*coat.material, core::Load::none);
  core::AirHistory air = steady_room(kMonday, days(3), 20.0);
  for (const int age_h : {2, 8, 20, 40}) {
    const auto ages = core::ages_at(coat, only(air), kMonday + hours(1 + age_h));
    const auto found = std::find_if(ages.begin(), ages.end(), [](const core::ClockAge& age) {
      return age.milestone == Milestone::recoat_opens && age.rule == 0;
    });
    REQUIRE(found != ages.end());
    CHECK(found->ratio == Approx(age_h / 8.0).epsilon(1e-6));
    CHECK(found->doubt_ln == Approx(0).margin(1e-4));
    CHECK(found->curve_ln == Approx(0).margin(1e-4));  // 20 °C is a stated row
  }
  const auto before = core::ages_at(coat, only(air), kMonday + hours(9));
  air.put_temperature({kMonday + hours(9) + minutes(1), 35.0, 0.0});
  CHECK(core::ages_at(coat, only(air), kMonday + hours(9)) == before);
  air.put_temperature({kMonday + hours(8) + minutes(1), 35.0, 0.0});
  CHECK(core::ages_at(coat, only(air), kMonday + hours(9)) != before);
}

TEST_CASE("the doubt of an age holds the sensor's error, and the curve's spread is told apart from it",
          "[learning]") {
  core::CoatCase coat = coat_of(three_row_epoxy(), kMonday + hours(1));
  coat.clocks = core::age_clocks_of(*coat.material, core::Load::none);
  const auto age = [&](double celsius, double error) {
    const core::AirHistory air = steady_room(kMonday, days(1), celsius, error);
    return core::ages_at(coat, only(air), kMonday + hours(9)).front();
  };
  // A kelvin is six to eight per cent, and half a spread of the curve beside the row comes with it.
  CHECK(age(20, 1.0).doubt_ln > 0.05);
  CHECK(age(20, 1.0).doubt_ln < 0.17);
  CHECK(age(15, 0.0).doubt_ln == Approx(0).margin(1e-3));
  CHECK(age(15, 0.0).curve_ln > 0.02);
}

TEST_CASE("a touch teaches what the table says it proves, and nothing where no touch opens", "[learning]") {
  core::Material material = three_row_epoxy();
  const std::vector<core::AgedTouch> touches{
      {core::Touch::tacky,
       kMonday,
       {{Milestone::recoat_opens, 0, 0.7, 0, 0}, {Milestone::tack_free, -1, 0.9, 0, 0}}},
      {core::Touch::firm,
       kMonday,
       {{Milestone::recoat_opens, 0, 1.2, 0, 0}, {Milestone::tack_free, -1, 1.6, 0, 0}}}};
  const auto opens = core::tests_on(material, Milestone::recoat_opens, 0, touches);
  REQUIRE(opens.size() == 2);
  CHECK(opens[0] == TouchOnClock{Proof::not_yet, 0.7, 0, 0});
  CHECK(opens[1] == TouchOnClock{Proof::reached, 1.2, 0, 0});
  CHECK(core::tests_on(material, Milestone::tack_free, -1, touches).size() == 2);
  CHECK(core::tests_on(material, Milestone::sandable, -1, touches).empty());
  const auto has_opening = [&] {
    const auto clocks = core::tested_clocks(material);
    return std::any_of(clocks.begin(), clocks.end(),
                       [](const auto& clock) { return clock.milestone == Milestone::recoat_opens; });
  };
  CHECK(has_opening());
  material.recoat[0].touch_opens = false;
  CHECK_FALSE(has_opening());
}

TEST_CASE("a lesson is told in words", "[learning]") {
  Lesson lesson;
  lesson.pieces = 6;
  lesson.tests = 8;
  lesson.sooner = 7;
  lesson.mean_ln = std::log(0.9);
  CHECK(core::lesson_words(lesson, Milestone::recoat_opens) ==
        "in 7 of 8 tests firmer than the sheet says; about 0.9 × its time; from 6 pieces");
  lesson.sooner = 0;
  lesson.later = 3;
  lesson.mean_ln = std::log(1.13);
  CHECK(core::lesson_words(lesson, Milestone::sandable) ==
        "in 3 of 8 tests sandable later than the sheet says; about 1.1 × its time; from 6 pieces");
  lesson.later = 0;
  CHECK(core::lesson_words(lesson, Milestone::tack_free) ==
        "8 tests, none against the sheet; about 1.1 × its time; from 6 pieces");
  lesson.pieces = 1;
  CHECK(core::lesson_words(lesson, Milestone::tack_free) == "tests on 1 piece so far");
}

}  // namespace setwell::tests
