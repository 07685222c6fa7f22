#include "daemon/core/coat_run.hpp"

#include <chrono>
#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// Each fault of model.md section 2 by itself, on air so plain that the answer can be written down.
namespace setwell::tests {

using core::Bounded;
using core::ClockReading;
using core::CoatCase;
using core::CoatRun;
using core::Milestone;
using core::Outlook;
using quantity::Hours;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

namespace {

constexpr int kAllPieces = std::numeric_limits<int>::max();
// k·σ of the default strictness, on a stated row.
constexpr double kScatter = 3.1 * 0.10;

Outlook at_end(const CoatCase& coat, const core::AirOf& air, Instant now) {
  return run_of(coat).outlook(air, now);
}

double hours_to(const std::optional<Instant>& at, Instant from) {
  REQUIRE(at);
  return Hours(*at - from).count();
}

ClockReading clock_at(const CoatCase& coat, const core::AirHistory& air, Milestone milestone, Instant now,
                      int rule = -1) {
  const Outlook outlook = at_end(coat, only(air), now);
  const ClockReading* clock = outlook.clock(milestone, rule);
  REQUIRE(clock);
  return *clock;
}

}  // namespace

TEST_CASE("On a stated row a clock takes the sheet's time, give or take the scatter", "[cure]") {
  const auto air = steady_room(kMonday, days(3), 20);
  const ClockReading opens =
      clock_at(coat_of(three_row_epoxy(), kMonday), air, Milestone::recoat_opens, kMonday + days(2), 0);
  CHECK(hours_to(opens.at.expected, kMonday) == Approx(8).epsilon(1e-5));
  CHECK(hours_to(opens.at.slow, kMonday) == Approx(8 * std::exp(kScatter)).epsilon(1e-5));
  CHECK(hours_to(opens.at.fast, kMonday) == Approx(8 * std::exp(-kScatter)).epsilon(1e-5));
  CHECK(hours_to(opens.expected_at_upper, kMonday) == Approx(8).epsilon(1e-5));
  CHECK(opens.reached == Bounded<bool>{true, true, true});
  CHECK(opens.basis == std::set<core::Basis>{core::Basis::table});
}

TEST_CASE("Every milestone a sheet states has a clock, in order", "[cure]") {
  const auto air = steady_room(kMonday, days(1), 20);
  const Outlook outlook = at_end(coat_of(three_row_epoxy(), kMonday), only(air), kMonday + days(1));
  std::vector<std::pair<Milestone, int>> seen;
  for (const ClockReading& c : outlook.clocks)
    seen.emplace_back(c.milestone, c.rule);
  CHECK(seen == std::vector<std::pair<Milestone, int>>{{Milestone::tack_free, -1},
                                                       {Milestone::recoat_opens, 0},
                                                       {Milestone::recoat_closes, 0},
                                                       {Milestone::gap_begins, 1},
                                                       {Milestone::gap_ends, 1},
                                                       {Milestone::sandable, -1},
                                                       {Milestone::handling, -1},
                                                       {Milestone::packing, -1},
                                                       {Milestone::full_cure, -1},
                                                       {Milestone::full_strength, -1}});
}

TEST_CASE("The slow clock takes a range's upper end, the fast its lower, the expected their geometric mean",
          "[cure]") {
  const auto air = steady_room(kMonday, days(2), 20);
  const ClockReading c =
      clock_at(coat_of(one_row_epoxy(), kMonday), air, Milestone::tack_free, kMonday + days(1));
  CHECK(hours_to(c.at.slow, kMonday) == Approx(6 * std::exp(kScatter)).epsilon(1e-5));
  CHECK(hours_to(c.at.expected, kMonday) == Approx(std::sqrt(24.0)).epsilon(1e-5));
  CHECK(hours_to(c.at.fast, kMonday) == Approx(4 * std::exp(-kScatter)).epsilon(1e-5));
  CHECK(hours_to(c.expected_at_upper, kMonday) == Approx(6).epsilon(1e-5));
  CHECK(c.basis.count(core::Basis::one_temperature) == 1);
}

TEST_CASE("An unsure entry starts the slow clock late and the fast one early", "[cure]") {
  const auto air = steady_room(kMonday, days(3), 20);
  CoatCase coat = coat_of(three_row_epoxy(), kMonday + hours(2), minutes(30));
  coat.coat.made.last_pass = kMonday + hours(3);
  const ClockReading c = clock_at(coat, air, Milestone::tack_free, kMonday + days(2));
  CHECK(hours_to(c.at.slow, kMonday) == Approx(3.5 + 6 * std::exp(kScatter)).epsilon(1e-5));
  CHECK(hours_to(c.at.expected, kMonday) == Approx(3 + 6).epsilon(1e-5));
  CHECK(hours_to(c.at.fast, kMonday) == Approx(1.5 + 6 * std::exp(-kScatter)).epsilon(1e-5));
}

TEST_CASE("Below a stated floor the slow and the expected clock stand still and the fast one runs on",
          "[cure]") {
  const auto air = steady_room(kMonday, days(2), 6);
  const ClockReading c =
      clock_at(coat_of(three_row_epoxy(), kMonday), air, Milestone::tack_free, kMonday + hours(9));
  CHECK(c.progress.slow == 0);
  CHECK(c.progress.expected == 0);
  CHECK(c.progress.fast > 0.2);
  CHECK_FALSE(c.at.slow);
}

TEST_CASE("Below an assumed floor only the slow clock stands still, and the basis says so", "[cure]") {
  const auto air = steady_room(kMonday, days(2), 3);
  const ClockReading c =
      clock_at(coat_of(one_row_epoxy(), kMonday), air, Milestone::tack_free, kMonday + hours(5));
  CHECK(c.progress.slow == 0);
  CHECK(c.progress.expected > 0.05);
  CHECK(c.basis.count(core::Basis::assumed) == 1);
}

TEST_CASE("A floor crossed between two readings stops the slow clock there", "[cure]") {
  // 12 down to 4 °C in 8 h: 8.05 °C is crossed after 3 h 57 min, within a step; no lag to speak of.
  core::Material m = three_row_epoxy();
  m.cure_floor = quantity::Celsius(8.05);
  CoatCase coat = coat_of(m, kMonday);
  coat.lag = quantity::Minutes(1e-3);
  const auto falling = room(
      kMonday, hours(8), minutes(10), [](double h) { return 12 - h; }, 0.0);
  const auto part = room(
      kMonday, minutes(237), minutes(3), [](double h) { return 12 - h; }, 0.0);
  const double to_floor = clock_at(coat, part, Milestone::tack_free, kMonday + minutes(237)).progress.slow;
  const double beyond = clock_at(coat, falling, Milestone::tack_free, kMonday + hours(8)).progress.slow;
  CHECK(beyond == Approx(to_floor).epsilon(1e-5));
  CHECK(to_floor > 0.1);
}

TEST_CASE("The slow clock takes the air as much colder as the sensor may be wrong, the fast as much warmer",
          "[cure]") {
  const auto air = steady_room(kMonday, days(3), 25, 5.0);
  const ClockReading c =
      clock_at(coat_of(three_row_epoxy(), kMonday), air, Milestone::tack_free, kMonday + days(2));
  CHECK(hours_to(c.at.slow, kMonday) == Approx(6 * std::exp(kScatter)).epsilon(1e-5));
  CHECK(hours_to(c.at.fast, kMonday) == Approx(3 * std::exp(-kScatter)).epsilon(1e-5));
}

TEST_CASE(
    "While readings are missing the slow clock stands still; once they are back it runs on the coldest that "
    "the silence can have been",
    "[cure]") {
  core::AirHistory air = steady_room(kMonday, hours(2), 20);
  const CoatCase coat = coat_of(three_row_epoxy(), kMonday);
  const Instant held = kMonday + hours(2) + minutes(15), later = kMonday + hours(5);
  const ClockReading before = clock_at(coat, air, Milestone::sandable, held);
  const ClockReading silent = clock_at(coat, air, Milestone::sandable, later);
  CHECK(silent.progress.slow == before.progress.slow);
  CHECK(silent.progress.expected == Approx(5.0 / 24).epsilon(1e-4));
  CHECK(silent.progress.fast > before.progress.fast + 3.0 / 24 * std::exp(kScatter));
  CHECK(silent.basis.count(core::Basis::silence) == 1);
  CHECK(at_end(coat, only(air), later).silent_since == held);

  air.put_temperature({later, 20, 0});
  const ClockReading ended = clock_at(coat, air, Milestone::sandable, later);
  CHECK(ended.progress.slow > silent.progress.slow);
  CHECK(ended.progress.slow < 5.0 / 24 * std::exp(-kScatter));
  CHECK(ended.progress.fast > ended.progress.expected);
  CHECK_FALSE(at_end(coat, only(air), later).silent_since);
}

TEST_CASE("A milestone reached stays reached through a silence, and a window may close in one", "[cure]") {
  const core::AirHistory air = steady_room(kMonday, hours(14), 20);
  const Outlook outlook = at_end(coat_of(three_row_epoxy(), kMonday), only(air), kMonday + hours(20));
  CHECK(outlook.clock(Milestone::recoat_opens, 0)->reached.slow);
  CHECK(outlook.clock(Milestone::recoat_closes, 0)->reached.fast);
}

TEST_CASE("Once covered, a drying film's slow clocks stop and its fast ones run on; a reactive one cures on",
          "[cure]") {
  const auto air = steady_room(kMonday, days(2), 20);
  for (const bool dries : {true, false}) {
    CoatCase coat = coat_of(dries ? lacquer() : three_row_epoxy(), kMonday);
    coat.covered = kMonday + hours(3);
    const ClockReading at_cover = clock_at(coat, air, Milestone::handling, kMonday + hours(3));
    const ClockReading later = clock_at(coat, air, Milestone::handling, kMonday + hours(5));
    CHECK((later.progress.slow == at_cover.progress.slow) == dries);
    CHECK(later.progress.fast > at_cover.progress.fast);
  }
}

TEST_CASE("A limit without end never comes", "[cure]") {
  core::Material m = three_row_epoxy();
  m.recoat[0].closes = never();
  const ClockReading c = clock_at(coat_of(m, kMonday), steady_room(kMonday, days(40), 20),
                                  Milestone::recoat_closes, kMonday + days(40), 0);
  CHECK(c.no_limit);
  CHECK_FALSE(c.at.fast);
}

TEST_CASE("A loaded coat opens no earlier than the sheet says of its load", "[cure]") {
  core::Material m = three_row_epoxy();
  m.reference_temperature = quantity::Celsius(20);
  m.loaded.push_back({"flake", Hours(12), ""});
  CoatCase coat = coat_of(m, kMonday);
  const auto air = steady_room(kMonday, days(2), 20);
  const double plain = hours_to(clock_at(coat, air, Milestone::recoat_opens, kMonday, 0).at.slow, kMonday);
  coat.coat.made.load = core::Load::flake;
  const ClockReading c = clock_at(coat, air, Milestone::recoat_opens, kMonday, 0);
  CHECK(hours_to(c.at.slow, kMonday) == Approx(1.5 * plain).epsilon(1e-5));
  CHECK(hours_to(c.at.expected, kMonday) == Approx(12).epsilon(1e-5));
  CHECK(hours_to(c.at.fast, kMonday) == Approx(8 * std::exp(-kScatter)).epsilon(1e-5));
}

TEST_CASE("The last quarter of full cure waits for warmth where the room is far colder than the sheet's rows",
          "[cure]") {
  core::Material m = three_row_epoxy();
  m.full_cure = table({{20, 20, 20}, {30, 10, 10}});
  const auto cool = steady_room(kMonday, days(30), 14);
  const ClockReading c = clock_at(coat_of(m, kMonday), cool, Milestone::full_cure, kMonday + days(29));
  CHECK(c.progress.slow == 0.75);
  CHECK(c.reached.expected);
  const auto mild = steady_room(kMonday, days(30), 15.5);
  CHECK(clock_at(coat_of(m, kMonday), mild, Milestone::full_cure, kMonday + days(29)).reached.slow);
}

TEST_CASE("Times still to come follow the assumed air and are not reached", "[cure]") {
  const auto air = room(kMonday - days(2), days(2) + hours(3), minutes(5), wave(18, 4), 0.2);
  const auto whole = room(kMonday - days(2), days(5), minutes(5), wave(18, 4), 0.2);
  const CoatCase coat = coat_of(three_row_epoxy(), kMonday);
  const ClockReading ahead = clock_at(coat, air, Milestone::sandable, kMonday + hours(3));
  const ClockReading was = clock_at(coat, whole, Milestone::sandable, kMonday + days(3));
  CHECK(ahead.reached == Bounded<bool>{});
  CHECK(ahead.progress.slow < 0.2);
  CHECK(hours_to(ahead.at.slow, kMonday) == Approx(hours_to(was.at.slow, kMonday)).epsilon(0.005));
  CHECK(hours_to(ahead.at.expected, kMonday) == Approx(hours_to(was.at.expected, kMonday)).epsilon(0.005));
  CHECK(hours_to(ahead.at.fast, kMonday) == Approx(hours_to(was.at.fast, kMonday)).epsilon(0.005));
}

TEST_CASE("A run is finished when every slow clock is there, and stops using the record", "[cure]") {
  const auto air = steady_room(kMonday, days(60), 25);
  CoatRun run = run_of(coat_of(three_row_epoxy(), kMonday));
  CHECK_FALSE(run.finished());
  CHECK_FALSE(run.advance(only(air), kMonday + days(60), kAllPieces));
  CHECK(run.finished());
  CHECK(run.upto() < kMonday + days(30));
  CHECK_FALSE(run.advance(only(air), kMonday + days(60), kAllPieces));
}

}  // namespace setwell::tests
