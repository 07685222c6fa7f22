#include <chrono>
#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/coat_run.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// What must hold of any record: bounds that hold the truth, and numbers that do not depend on how they came.
namespace setwell::tests {

using core::AirHistory;
using core::CoatCase;
using core::CoatRun;
using core::Outlook;
using quantity::Instant;
using quantity::Span;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

namespace {

constexpr int kAllPieces = std::numeric_limits<int>::max();

/// A room that wanders, with silences now and then if asked for.
AirHistory wandering(std::mt19937& random, int hours_long, bool silences, double error = 0.5) {
  AirHistory air;
  const double mean = uniform(random, 9, 22), swing = uniform(random, 0, 6);
  double drift = 0;
  Instant at = kMonday - hours(3);
  while (at < kMonday + hours(hours_long)) {
    const double h = quantity::Hours(at - kMonday).count();
    drift = 0.98 * drift + uniform(random, -0.3, 0.3);
    air.put_temperature({at, wave(mean, swing)(h) + drift, error});
    air.put_humidity({at, uniform(random, 40, 70), 5});
    at += silences && random() % 60 == 0 ? Span(minutes(random() % 400)) : Span(seconds(60 + random() % 600));
  }
  return air;
}

/// The shop as it was: its own air within the sensor's error, its own lag, its own material within the
/// spread.
struct Truth {
  double energy_shift;  ///< standard deviations, applied to spread and scatter together
  double lag_s;
  double offset;
  Instant start;
  bool stands_still_cold;  ///< whether this material stops at the sheet's floor
};

/// Straight sums of ten-second steps: nothing here is shared with the engine but the sheet's own times.
double true_hours(const AirHistory& air, const core::TimeModel& model, const Truth& truth, double floor_c) {
  const auto& points = air.temperature();
  std::size_t i = 1;
  double surface = -1000, progress = 0;
  for (Instant at = points.front().at; at < points.back().at; at += seconds(10)) {
    while (points[i].at <= at)
      ++i;
    const double f = static_cast<double>((at - points[i - 1].at).count()) /
                     static_cast<double>((points[i].at - points[i - 1].at).count());
    const double now = points[i - 1].value + f * (points[i].value - points[i - 1].value) + truth.offset;
    if (surface < -900 || at < truth.start) surface = now;
    surface += (now - surface) * (1 - std::exp(-10 / truth.lag_s));
    if (at < truth.start || (truth.stands_still_cold && surface < floor_c)) continue;
    const core::LnTime t = model.at(surface);
    progress += 10 / 3600.0 / std::exp(t.expected + truth.energy_shift * std::hypot(t.spread, 0.10));
    if (progress >= 1) return quantity::Hours(at - kMonday).count();
  }
  return 1e9;
}

double or_never(const std::optional<Instant>& at) {
  return at ? quantity::Hours(*at - kMonday).count() : 1e9;
}

std::string state(const CoatCase& coat, const core::AirOf& air, Instant until) {
  CoatRun run = run_of(coat);
  run.advance(air, until, kAllPieces);
  return run.save();
}

Outlook told(const CoatCase& coat, const AirHistory& air, Instant now) {
  return run_of(coat).outlook(only(air), now);
}

}  // namespace

TEST_CASE("Whatever the shop truly was within its errors, it lies between the fast and the slow clock",
          "[cure]") {
  std::mt19937 random(31);
  int reached = 0;
  for (int trial = 0; trial < 60; ++trial) {
    const AirHistory air = wandering(random, 60, false);
    const core::Material material = trial % 2 ? three_row_epoxy() : one_row_epoxy();
    const core::TimeModel model(*material.tack_free, material.family, core::Milestone::tack_free);
    const core::CureFloor floor = core::floor_for(material.cure_floor, model, material.family);
    CoatCase coat = coat_of(material, kMonday + minutes(random() % 900), minutes(20));
    Truth truth;
    truth.energy_shift = uniform(random, -3.1, 3.1);
    truth.lag_s = 360 * std::exp(uniform(random, std::log(0.5), std::log(2.0)));
    truth.offset = uniform(random, -0.5, 0.5);
    truth.start = coat.coat.made.last_pass + seconds(static_cast<int>(uniform(random, -1200, 1200)));
    truth.stands_still_cold = random() % 2;
    const double is = true_hours(air, model, truth, *floor.slow_c);
    const auto clock = *told(coat, air, kMonday + hours(59)).clock(core::Milestone::tack_free);
    const double slack = 0.02;  // the truth's own ten-second steps
    if (is < 59) {
      ++reached;
      REQUIRE(clock.reached.fast);
      REQUIRE(or_never(clock.at.fast) <= is + slack);
    }
    if (clock.reached.slow) REQUIRE(or_never(clock.at.slow) >= is - slack);
  }
  CHECK(reached > 25);
}

TEST_CASE("Slow is never ahead of expected, nor expected of fast, and no progress is ever lost", "[cure]") {
  std::mt19937 random(32);
  for (int trial = 0; trial < 12; ++trial) {
    const AirHistory air = wandering(random, 80, true);
    CoatCase coat = coat_of(trial % 3 == 0 ? water_borne() : three_row_epoxy(), kMonday, minutes(15));
    coat.covered = kMonday + hours(20);
    CoatRun run = run_of(coat);
    std::vector<core::ClockReading> before;
    for (int h = 1; h < 80; h += 2) {
      run.advance(only(air), kMonday + hours(h), kAllPieces);
      const Outlook outlook = run.outlook(only(air), std::max(run.upto(), kMonday + Span(1)));
      for (std::size_t c = 0; c < outlook.clocks.size(); ++c) {
        const auto& p = outlook.clocks[c].progress;
        const auto& at = outlook.clocks[c].at;
        REQUIRE(p.slow <= p.expected);
        REQUIRE(p.expected <= p.fast);
        REQUIRE(or_never(at.slow) >= or_never(at.expected));
        REQUIRE(or_never(at.expected) >= or_never(at.fast));
        if (before.empty()) continue;
        REQUIRE(p.slow >= before[c].progress.slow);
        REQUIRE(p.expected >= before[c].progress.expected);
        REQUIRE(p.fast >= before[c].progress.fast);
      }
      before = outlook.clocks;
    }
  }
}

TEST_CASE("However a run is sliced, and however its readings come in, it ends in the same bits", "[cure]") {
  std::mt19937 random(33);
  for (int trial = 0; trial < 10; ++trial) {
    std::map<std::string, AirHistory> air;
    air["bench"] = wandering(random, 70, true);
    air["cabinet"] = wandering(random, 70, true);
    CoatCase coat = coat_of(trial % 2 ? lacquer() : three_row_epoxy(), kMonday + minutes(3), minutes(12));
    coat.coat.made.piece_from = quantity::Celsius(9);
    coat.stays = {{kMonday, quantity::ZoneId("bench")},
                  {kMonday + hours(5) + seconds(77), quantity::ZoneId("cabinet")},
                  {kMonday + hours(30) + seconds(5), quantity::ZoneId("bench")}};
    coat.covered = kMonday + hours(33) + seconds(3);
    const Instant end = kMonday + hours(70);
    const std::string at_once = state(coat, zones(air), end);

    CoatRun sliced = run_of(coat);
    Instant until = kMonday;
    while (until < end) {
      until = std::min(end, until + minutes(random() % 500));
      while (sliced.advance(zones(air), until, 1 + static_cast<int>(random() % 50))) {
      }
      const auto kept = CoatRun::load(std::make_shared<const CoatCase>(coat), sliced.save());
      REQUIRE(kept);
      REQUIRE(*kept == sliced);
      sliced = *kept;
    }
    CHECK(sliced.save() == at_once);

    std::map<std::string, AirHistory> growing;
    CoatRun live = run_of(coat);
    std::vector<std::pair<std::string, core::AirPoint>> all;
    for (const auto& [name, zone] : air)
      for (const auto& p : zone.temperature())
        all.emplace_back(name, p);
    std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.second.at < b.second.at; });
    for (const auto& [name, point] : all) {
      growing[name].put_temperature(point);
      for (const auto& h : air[name].humidity())
        if (h.at == point.at) growing[name].put_humidity(h);
      live.advance(zones(growing), point.at, kAllPieces);
    }
    CHECK(live.save() == at_once);
  }
}

TEST_CASE("A late reading after a checkpoint gives the bits of a run from scratch", "[cure]") {
  std::mt19937 random(34);
  const AirHistory full = wandering(random, 60, false);
  AirHistory air = full;
  const core::AirPoint late = full.temperature()[full.temperature().size() / 2];
  air.drop_temperature(late.at);
  const CoatCase coat = coat_of(three_row_epoxy(), kMonday, minutes(5));
  CoatRun run = run_of(coat);
  run.advance(only(air), late.at - hours(2), kAllPieces);
  const CoatRun checkpoint = run;
  run.advance(only(air), kMonday + hours(60), kAllPieces);
  CHECK(run.save() != state(coat, only(full), kMonday + hours(60)));
  air.put_temperature(late);
  CoatRun again = checkpoint;
  again.advance(only(air), kMonday + hours(60), kAllPieces);
  CHECK(again.save() == state(coat, only(full), kMonday + hours(60)));
}

TEST_CASE(
    "Warmer air never delays a clock, and a wider error, of air or entry, never brings the bounds closer",
    "[cure]") {
  std::mt19937 random(35);
  for (int trial = 0; trial < 15; ++trial) {
    const AirHistory air = wandering(random, 60, false);
    AirHistory warmer = air, vaguer = air;
    for (core::AirPoint p : air.temperature()) {
      vaguer.put_temperature({p.at, p.value, 1.0});
      p.value += uniform(random, 0, 1.5);
      warmer.put_temperature(p);
    }
    const CoatCase coat = coat_of(three_row_epoxy(), kMonday, minutes(5));
    const Instant now = kMonday + hours(59);
    const CoatCase unsure = coat_of(three_row_epoxy(), kMonday, minutes(5 + random() % 60));
    const Outlook a = told(coat, air, now), w = told(coat, warmer, now), v = told(coat, vaguer, now),
                  u = told(unsure, air, now);
    const double rounding = 1e-6;  // the tables are good to 3e-6, half a second in two days
    for (std::size_t c = 0; c < a.clocks.size(); ++c) {
      REQUIRE(w.clocks[c].progress.slow >= a.clocks[c].progress.slow - rounding);
      REQUIRE(w.clocks[c].progress.expected >= a.clocks[c].progress.expected - rounding);
      REQUIRE(w.clocks[c].progress.fast >= a.clocks[c].progress.fast - rounding);
      REQUIRE(v.clocks[c].progress.slow <= a.clocks[c].progress.slow + rounding);
      REQUIRE(v.clocks[c].progress.expected == Approx(a.clocks[c].progress.expected).margin(rounding));
      REQUIRE(v.clocks[c].progress.fast >= a.clocks[c].progress.fast - rounding);
      REQUIRE(u.clocks[c].progress.slow <= a.clocks[c].progress.slow + rounding);
      REQUIRE(u.clocks[c].progress.fast >= a.clocks[c].progress.fast - rounding);
    }
  }
}

TEST_CASE("Bytes of another engine, of another coat or cut short are refused", "[cure]") {
  const auto coat = std::make_shared<const CoatCase>(coat_of(three_row_epoxy(), kMonday));
  const std::string bytes = CoatRun(coat).save();
  CHECK(CoatRun::load(coat, bytes));
  CHECK_FALSE(CoatRun::load(coat, bytes.substr(0, bytes.size() - 1)));
  CHECK_FALSE(CoatRun::load(coat, ""));
  std::string other = bytes;
  other[4] = static_cast<char>(other[4] + 1);
  CHECK_FALSE(CoatRun::load(coat, other));
  CHECK_FALSE(CoatRun::load(std::make_shared<const CoatCase>(coat_of(lacquer(), kMonday)), bytes));
}

}  // namespace setwell::tests
