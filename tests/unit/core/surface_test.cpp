#include "daemon/core/surface.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/support/rooms.hpp"

namespace setwell::tests {

using core::AirLine;
using core::Surface;

namespace {

constexpr double kTau = 600;

Surface after(const Surface& start, const AirLine& air, double tau, double seconds) {
  const auto sections = core::follow_air(start, air, tau, seconds);
  return sections.all().back().at_end();
}

/// A surface under a lag that changes every few seconds, each stretch by the exact formula.
double true_surface(std::mt19937& random, double surface, double air, double slope, double seconds) {
  for (double at = 0; at < seconds; at += 5) {
    const double tau = kTau * std::exp(uniform(random, std::log(0.5), std::log(2.0)));
    surface = core::follow(surface, air + slope * at, slope, tau).at(std::min(5.0, seconds - at));
  }
  return surface;
}

}  // namespace

TEST_CASE("The surface is exact under air that goes linearly", "[surface]") {
  // 20 °C falling 3 K/h, τ = 10 min: closed form.
  const double slope = -3.0 / 3600;
  const Surface end = after({20, 20, 20}, {20, 20, 20, slope}, kTau, 3600);
  const double want = 17 - slope * kTau + (slope * kTau) * std::exp(-3600 / kTau);
  CHECK(end.expected == Approx(want).epsilon(1e-12));
  Surface joined{5, 5, 5};
  for (int i = 0; i < 36; ++i)
    joined = after(joined, {20, 20, 20, 0}, kTau, 100);
  CHECK(joined.expected == Approx(20 - 15 * std::exp(-3600 / kTau)).epsilon(1e-12));
}

TEST_CASE("The bounds hold whatever the lag does within half and twice its value", "[surface]") {
  std::mt19937 random(21);
  for (int trial = 0; trial < 200; ++trial) {
    const double error = uniform(random, 0, 1);
    double air = uniform(random, 5, 25), truth = uniform(random, 5, 25);
    Surface surface{truth, truth, truth};
    for (int piece = 0; piece < 12; ++piece) {
      const double seconds = uniform(random, 10, 1500);
      const double to = air + uniform(random, -6, 6);
      const double slope = (to - air) / seconds;
      const double offset = uniform(random, -error, error);
      surface = after(surface, {air - error, air, air + error, slope}, kTau, seconds);
      truth = true_surface(random, truth, air + offset, slope, seconds);
      REQUIRE(surface.lower <= truth + 1e-9);
      REQUIRE(surface.upper >= truth - 1e-9);
      REQUIRE(surface.lower <= surface.expected + 1e-9);
      REQUIRE(surface.upper >= surface.expected - 1e-9);
      air = to;
    }
  }
}

TEST_CASE("A pulse that beats both constant lags stays within the bounds", "[surface]") {
  // Quick in, slow out: warmer than τ/2 or 2τ alone would leave the surface.
  const double tau = 2400;
  const auto constant = [&](double t) {
    const double risen = core::follow(10, 25, 0, t).at(1200);
    return core::follow(risen, 10, 0, t).at(1200);
  };
  const double quick_then_slow =
      core::follow(core::follow(10, 25, 0, tau / 2).at(1200), 10, 0, 2 * tau).at(1200);
  REQUIRE(quick_then_slow > std::max(constant(tau / 2), constant(2 * tau)) + 0.5);
  Surface s = after({10, 10, 10}, {25, 25, 25, 0}, tau, 1200);
  s = after(s, {10, 10, 10, 0}, tau, 1200);
  CHECK(s.upper == Approx(quick_then_slow));
}

TEST_CASE("Steps cover their section once and none bends far", "[surface]") {
  std::mt19937 random(22);
  for (int trial = 0; trial < 100; ++trial) {
    const double seconds = uniform(random, 5, 20000);
    const AirLine air{15, 16, 17, uniform(random, -12, 12) / seconds};
    const Surface start{uniform(random, 0, 15), 15, 30};
    double covered = 0;
    const auto sections = core::follow_air(start, air, kTau, seconds);
    for (const core::SurfaceSection& section : sections.all()) {
      double at = 0;
      core::for_each_step(section, [&](double a, double b) {
        REQUIRE(a == at);
        REQUIRE(b > a);
        REQUIRE(std::fabs(section.lower.at(b) - section.lower.at(a)) <= 5.0);
        REQUIRE(std::fabs(section.upper.at(b) - section.upper.at(a)) <= 5.0);
        at = b;
      });
      REQUIRE(at == section.to - section.from);
      covered += at;
    }
    CHECK(covered == Approx(seconds));
  }
}

TEST_CASE("The lower and the upper path are monotone within a section", "[surface]") {
  std::mt19937 random(23);
  for (int trial = 0; trial < 200; ++trial) {
    const double slope = uniform(random, -5, 5) / 1000;
    const auto sections = core::follow_air({10, 15, 22}, {14, 15, 16, slope}, kTau, 1000);
    for (const auto& section : sections.all()) {
      for (const auto* path : {&section.lower, &section.upper}) {
        const double end = section.to - section.from;
        const bool rises = path->at(end) >= path->at(0);
        for (int i = 0; i < 50; ++i) {
          const double step = path->at(end * (i + 1) / 50) - path->at(end * i / 50);
          REQUIRE((rises ? step : -step) >= -1e-9);
        }
      }
    }
  }
}

}  // namespace setwell::tests
