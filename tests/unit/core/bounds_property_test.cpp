#include <algorithm>
#include <chrono>
#include <cmath>
#include <functional>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/coat_run.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// A thousand shops as they might truly have been, against the bounds, and against bounds made the easy way.
namespace setwell::tests {

using core::AirHistory;
using quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr double kK = 3.1;
constexpr double kMean = 44.0, kSpread = 12.0;  // kJ/mol, to either side of the only row
constexpr double kRow = 20.0, kHours = 6.0;
constexpr double kTau = 1500.0;
constexpr double kError = 0.5;
constexpr double kStep = 30.0;

/// Only the energy is unknown: no wander, no scatter. So the pointwise bound is exactly that of the energies.
core::PriorBook only_energies() {
  std::vector<core::PriorRow> rows;
  for (const auto kind : {core::PriorKind::opens, core::PriorKind::closes, core::PriorKind::drying,
                          core::PriorKind::hardness, core::PriorKind::pot_life}) {
    for (const auto side : {core::PriorSide::colder, core::PriorSide::warmer})
      rows.push_back({std::nullopt, kind, side, {kMean, kSpread, 1e-9, 1.0}, "test"});
  }
  return core::PriorBook(rows, 1e-9);
}

double away(double celsius) {
  return core::inverse_rt(celsius) - core::inverse_rt(kRow);
}

/// How a shop may truly be at a moment: its energy and lag between their bounds (-1 … 1), its sensor's error.
struct Truth {
  std::function<double(double air, double surface, double s)> tau;
  std::function<double(double celsius, double s)> energy;
  double offset = 0;
};

double air_at(const AirHistory& air, Instant at) {
  const auto& points = air.temperature();
  const auto next = std::upper_bound(points.begin(), points.end(), at,
                                     [](Instant t, const core::AirPoint& p) { return t < p.at; });
  if (next == points.end()) return points.back().value;
  const auto& a = *(next - 1);
  const double f = static_cast<double>((at - a.at).count()) / static_cast<double>((next->at - a.at).count());
  return a.value + f * (next->value - a.value);
}

/// Straight sums of half-minute steps: shares nothing with the engine.
double progress_of(const Truth& truth, const AirHistory& air, Instant from, Instant to) {
  double progress = 0, surface = air_at(air, from) + truth.offset;
  for (double s = 0; s < quantity::Seconds(to - from).count(); s += kStep) {
    const Instant middle = from + std::chrono::round<quantity::Span>(quantity::Seconds(s + kStep / 2));
    const double now = air_at(air, middle) + truth.offset;
    const double after = now + (surface - now) * std::exp(-kStep / truth.tau(now, surface, s));
    const double mean = 0.5 * (surface + after);
    progress += kStep / 3600.0 / (kHours * std::exp(truth.energy(mean, s) * away(mean)));
    surface = after;
  }
  return progress;
}

/// A value that wanders between -1 and 1, or leaps from end to end.
std::function<double(double)> wanders(std::mt19937& random) {
  std::vector<double> values;
  double at = uniform(random, -1, 1);
  const bool leaps = random() % 2 == 0;
  for (int i = 0; i < 200; ++i) {
    if (leaps) {
      if (random() % 6 == 0) at = random() % 2 ? 1 : -1;
    } else {
      at = std::clamp(at + uniform(random, -0.3, 0.3), -1.0, 1.0);
    }
    values.push_back(at);
  }
  return [values](double s) { return values[static_cast<std::size_t>(s / 900.0) % values.size()]; };
}

double least_energy_rate(double celsius) {  // slowest: the larger energy when colder than the row
  return celsius < kRow ? kMean + kK * kSpread : kMean - kK * kSpread;
}

double lower_tau(double air, double surface) {
  return air < surface ? kTau / 2 : 2 * kTau;
}

/// The worst shop there may be.
Truth worst() {
  return {[](double air, double surface, double) { return lower_tau(air, surface); },
          [](double celsius, double) { return least_energy_rate(celsius); }, -kError};
}

Truth random_truth(std::mt19937& random) {
  Truth truth;
  truth.offset = uniform(random, -kError, kError);
  if (random() % 8 == 0) return worst();
  const auto lag = wanders(random), energy = wanders(random);
  const double constant = uniform(random, -1, 1);
  const bool steady_energy = random() % 3 == 0, steady_lag = random() % 3 == 0;
  truth.tau = [=](double, double, double s) { return kTau * std::exp2(steady_lag ? constant : lag(s)); };
  truth.energy = [=](double, double s) {
    return kMean + kK * kSpread * (steady_energy ? constant : energy(s));
  };
  return truth;
}

/// Air that crosses the row's temperature now and then, with pulses of a heater.
AirHistory crossing_room(std::mt19937& random) {
  AirHistory air;
  const double swing = uniform(random, 1, 7), mean = kRow + uniform(random, -3, 3);
  double pulse = 0;
  for (int m = 0; m <= 30 * 60; m += 10) {
    if (random() % 20 == 0) pulse = pulse > 0 ? 0 : uniform(random, 5, 15);
    air.put_temperature(
        {kMonday + minutes(m), mean + swing * std::sin(m * 2 * 3.14159265 / 900) + pulse, kError});
  }
  return air;
}

core::ClockReading told(const AirHistory& air, Instant from, Instant to) {
  core::Material material;
  material.id = quantity::SheetId("one-row");
  const core::TimeModel model(table({{kRow, kHours, kHours}}), core::Family::epoxy,
                              core::Milestone::tack_free, only_energies());
  core::SheetClock clock;
  clock.rates.emplace(model, core::CureFloor{}, core::Strictness{kK, 0.0});
  core::CoatCase coat = coat_of(material, from);
  coat.lag = quantity::Minutes(kTau / 60);
  coat.clocks = std::make_shared<const core::SheetClocks>(core::SheetClocks{clock});
  return run_of(coat).outlook(only(air), to).clocks.front();
}

/// The lower bound with one unknown but constant energy, at the better of its ends.
double endpoint_energies(const AirHistory& air, Instant from, Instant to) {
  Truth low = worst(), high = worst();
  low.energy = [](double, double) { return kMean - kK * kSpread; };
  high.energy = [](double, double) { return kMean + kK * kSpread; };
  return std::min(progress_of(low, air, from, to), progress_of(high, air, from, to));
}

/// The lower bound of the surface as the colder of two, one with half the lag and one with twice.
double endpoint_lags(const AirHistory& air, Instant from, Instant to) {
  double quick = air_at(air, from) - kError, slow = quick, progress = 0;
  for (double s = 0; s < quantity::Seconds(to - from).count(); s += kStep) {
    const double now =
        air_at(air, from + std::chrono::round<quantity::Span>(quantity::Seconds(s + kStep / 2))) - kError;
    quick = now + (quick - now) * std::exp(-kStep / (kTau / 2));
    slow = now + (slow - now) * std::exp(-kStep / (2 * kTau));
    const double c = std::min(quick, slow);
    progress += kStep / 3600.0 / (kHours * std::exp(least_energy_rate(c) * away(c)));
  }
  return progress;
}

}  // namespace

TEST_CASE("A thousand shops lie within the bounds; ends of energies or of lags alone would not hold them",
          "[cure]") {
  std::mt19937 random(71);
  int outside_energies = 0, outside_lags = 0, unfinished = 0;
  const double slack = 2e-3;  // the truth's own half-minute steps
  for (int trial = 0; trial < 100; ++trial) {
    const AirHistory air = crossing_room(random);
    const Instant from = kMonday + minutes(random() % 600);
    const Instant to = from + minutes(60 + random() % 300);
    const core::ClockReading clock = told(air, from, to);
    const double naive_energies = endpoint_energies(air, from, to), naive_lags = endpoint_lags(air, from, to);
    for (int shop = 0; shop < 10; ++shop) {
      const double is = progress_of(random_truth(random), air, from, to);
      REQUIRE(clock.progress.slow <= std::min(1.0, is) + slack);
      REQUIRE(clock.progress.fast >= std::min(1.0, is) - slack);
      unfinished += is < 1;
      outside_energies += is < naive_energies - slack;
      outside_lags += is < naive_lags - slack;
    }
  }
  CHECK(unfinished > 500);
  CHECK(outside_energies > 10);
  CHECK(outside_lags > 10);
}

TEST_CASE("A reading put on the line between two others changes nothing", "[cure]") {
  std::mt19937 random(72);
  for (int trial = 0; trial < 8; ++trial) {
    const AirHistory air = crossing_room(random);
    AirHistory split = air;
    for (const core::AirPoint& p : air.temperature()) {
      const Instant at = p.at + minutes(1 + random() % 8);
      split.put_temperature({at, air_at(air, at), kError});
    }
    const auto a = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(air), kMonday + hours(29));
    const auto b = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(split), kMonday + hours(29));
    for (std::size_t c = 0; c < a.clocks.size(); ++c) {
      CHECK(b.clocks[c].progress.slow == Approx(a.clocks[c].progress.slow).margin(5e-6));
      CHECK(b.clocks[c].progress.expected == Approx(a.clocks[c].progress.expected).margin(5e-6));
      CHECK(b.clocks[c].progress.fast == Approx(a.clocks[c].progress.fast).margin(5e-6));
    }
  }
}

TEST_CASE("A wider range on the sheet never brings the bounds closer", "[cure]") {
  std::mt19937 random(73);
  for (int trial = 0; trial < 8; ++trial) {
    const AirHistory air = crossing_room(random);
    core::Material narrow = three_row_epoxy(), wide = narrow;
    const double factor = uniform(random, 1.05, 1.5);
    for (core::Row& row : wide.tack_free->rows)
      row.time = hours_stated(row.time.low.count() / factor, row.time.high.count() * factor);
    const auto a = run_of(coat_of(narrow, kMonday)).outlook(only(air), kMonday + hours(2));
    const auto b = run_of(coat_of(wide, kMonday)).outlook(only(air), kMonday + hours(2));
    const auto &n = a.clock(core::Milestone::tack_free)->progress,
               &w = b.clock(core::Milestone::tack_free)->progress;
    CHECK(w.slow < n.slow);
    CHECK(w.expected == Approx(n.expected).margin(1e-6));
    CHECK(w.fast >= n.fast);
  }
}

TEST_CASE("A wider silence of a room that goes on as it did never brings the bounds closer", "[cure]") {
  std::mt19937 random(74);
  for (int trial = 0; trial < 20; ++trial) {
    const double swing = uniform(random, 0, 4), mean = uniform(random, 14, 22);
    const AirHistory full =
        room(kMonday - std::chrono::days(8), std::chrono::days(10), minutes(10), wave(mean, swing));
    const int starts = 2 + static_cast<int>(random() % 6);
    core::Bounded<double> before{1, 0, 0};
    for (int length = 0; length <= 12; length += 2) {
      AirHistory air = full;
      for (const core::AirPoint& p : full.temperature()) {
        if (p.at > kMonday + hours(starts) && p.at < kMonday + hours(starts + length))
          air.drop_temperature(p.at);
      }
      const auto outlook =
          run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(air), kMonday + hours(22));
      const auto& p = outlook.clock(core::Milestone::handling)->progress;
      CHECK(p.slow <= before.slow + 1e-9);
      CHECK(p.fast >= before.fast - 1e-9);
      before = p;
    }
  }
}

TEST_CASE("A heater switched off within a silence stays inside its envelope, though both edges are warm",
          "[air]") {
  // For a week the heater is off from two to five at night; tonight nothing is heard from one to six.
  const auto celsius = [](double hour) {
    const double of_day = std::fmod(hour + 240, 24.0);
    return of_day >= 2 && of_day < 5 ? 11.0 : 20.0;
  };
  AirHistory air;
  for (int m = -7 * 1440; m <= 1440; m += 10) {
    if (m > 60 && m < 360) continue;
    air.put_temperature({kMonday + minutes(m), celsius(m / 60.0), kError});
  }
  for (const core::AirPiece& piece : air.pieces(kMonday + hours(1), kMonday + hours(6))) {
    REQUIRE(piece.temperature.silent);
    const double is = celsius(quantity::Hours(piece.from - kMonday).count() + 0.4);
    CHECK(piece.temperature.least <= is);
    CHECK(piece.temperature.most >= is);
    CHECK(piece.temperature.middle == Approx(is).margin(1.6));
  }
  // The slow clock takes the night as cold as it was.
  const auto with = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(air), kMonday + hours(7));
  AirHistory truth = air;
  for (int m = 70; m < 360; m += 10)
    truth.put_temperature({kMonday + minutes(m), celsius(m / 60.0), kError});
  const auto heard = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(truth), kMonday + hours(7));
  const auto slow = [](const core::Outlook& o) { return o.clock(core::Milestone::tack_free)->progress.slow; };
  CHECK(slow(with) < slow(heard));
}

}  // namespace setwell::tests
