#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/interval_fit.hpp"
#include "daemon/core/posterior.hpp"

namespace setwell::tests {

using core::LearningPrior;
using core::Posterior;
using core::RatioInterval;
using core::TimeRange;

namespace {

std::vector<RatioInterval> alike(int count, double low, double high) {
  return std::vector<RatioInterval>(static_cast<std::size_t>(count), RatioInterval{low, high, 0.0});
}

TimeRange on_line(double celsius, double energy, double width) {
  const double time = 6.0 / core::rate_factor(energy, celsius, 20);
  return {celsius, time / width, time * width};
}

}  // namespace

TEST_CASE("points on one straight line give its energy back without error") {
  const std::vector<TimeRange> points{on_line(8, 52, 1), on_line(17, 52, 1), on_line(31, 52, 1)};
  const auto fit = core::fit_energy(points, 20);
  CHECK(fit->energy == Approx(52).epsilon(1e-10));
  CHECK(fit->time_at_reference_h == Approx(6).epsilon(1e-10));
  CHECK(*fit->standard_error == Approx(0).margin(1e-6));
}

TEST_CASE("every line through all ranges has an energy inside the feasible ones, and the ends are reached") {
  const std::vector<TimeRange> points{on_line(8, 52, 1.2), on_line(17, 52, 1.1), on_line(31, 52, 1.15)};
  const auto lines = core::fit_energy(points, 20)->feasible;
  REQUIRE(lines);
  double least = 1e9, most = 0;
  for (double energy = 20; energy < 90; energy += 0.05) {
    double low = -1e9, high = 1e9;
    for (const TimeRange& p : points) {
      const double shift = energy * (core::inverse_rt(p.celsius) - core::inverse_rt(20));
      low = std::max(low, std::log(p.low_h) - shift);
      high = std::min(high, std::log(p.high_h) - shift);
    }
    if (low > high) continue;
    least = std::min(least, energy);
    most = std::max(most, energy);
  }
  CHECK(lines->least_energy == Approx(least).margin(0.06));
  CHECK(lines->most_energy == Approx(most).margin(0.06));
}

TEST_CASE("a table that no straight line passes through says so, and one temperature has no energy") {
  const std::vector<TimeRange> bent{{5, 60, 66}, {20, 12, 13}, {35, 9, 10}};
  CHECK_FALSE(core::fit_energy(bent, 20)->feasible);
  const std::vector<TimeRange> one{{20, 4, 6}};
  CHECK_FALSE(core::fit_energy(one, 20));
}

TEST_CASE("without observations the posterior is the prior and evidence is certain") {
  const Posterior p({}, {});
  CHECK(p.mean_ln() == Approx(0).margin(1e-9));
  CHECK(p.spread_ln() == Approx(0.25).margin(1e-6));
  CHECK(p.ln_evidence() == Approx(0).margin(1e-6));
}

TEST_CASE("more tests alike narrow the posterior about their middle") {
  double before = 0.25;
  for (int count : {1, 2, 3, 5, 8, 12}) {
    const Posterior p({}, alike(count, 1.1, 1.4));
    CHECK(p.spread_ln() < before);
    before = p.spread_ln();
  }
  CHECK(Posterior({}, alike(12, 1.1, 1.4)).mean_ln() == Approx(std::log(1.24)).margin(0.03));
}

TEST_CASE("the next piece keeps its own scatter however many tests there were") {
  const Posterior p({}, alike(200, 0.95, 1.05));
  CHECK(std::log(p.next_piece_ratio(0.95) / p.next_piece_ratio(0.05)) > 2 * 1.6 * 0.15);
}

TEST_CASE("multipliers never open earlier or close later than the sheet") {
  for (double ratio : {0.5, 0.8, 1.0, 1.3, 2.0}) {
    const Posterior p({}, alike(6, 0.9 * ratio, 1.1 * ratio));
    CHECK(p.opening_multiplier() >= 1.0);
    CHECK(p.closing_multiplier() <= 1.0);
  }
}

TEST_CASE("one contradictory test cannot rule out everything") {
  std::vector<RatioInterval> seen = alike(8, 0.95, 1.1);
  const double before = Posterior({}, seen).mean_ln();
  seen.push_back({6.0, 7.0, 0.0});
  const Posterior p({}, seen);
  CHECK(std::isfinite(p.mean_ln()));
  CHECK(p.mean_ln() == Approx(before).margin(0.02));
}

TEST_CASE("doubt about the age at the test weakens what it tells") {
  const Posterior sharp({}, std::vector<RatioInterval>{{1.2, 1.3, 0.0}});
  const Posterior vague({}, std::vector<RatioInterval>{{1.2, 1.3, 0.3}});
  CHECK(vague.spread_ln() > sharp.spread_ln());
}

}  // namespace setwell::tests
