#include "daemon/core/quadrature.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/temperature_path.hpp"

namespace setwell::tests {

using core::PathPoint;

namespace {

/// ∫ f over the piece by 4096 panels of Simpson's rule, a method that shares nothing with the one under test.
double by_simpson(double t0, double t1, double energy, double reference) {
  constexpr int kPanels = 4096;
  double sum = 0;
  for (int i = 0; i < kPanels; ++i) {
    const auto f = [&](double u) { return core::rate_factor(energy, t0 + (t1 - t0) * u, reference); };
    const double a = static_cast<double>(i) / kPanels;
    const double b = (i + 1.0) / kPanels;
    sum += (b - a) / 6.0 * (f(a) + 4.0 * f(0.5 * (a + b)) + f(b));
  }
  return sum;
}

const std::vector<PathPoint> kNight{{0, 21.0}, {7200, 9.0}, {14400, 9.0}, {36000, 24.0}};

}  // namespace

TEST_CASE("a linear piece is integrated to 1e-11 for energies up to 95 and spans up to 30 K") {
  for (double energy : {35.0, 55.0, 95.0}) {
    for (double span : {0.0, 2.0, 10.0, -30.0}) {
      const double got = core::integrate_linear(20, 20 + span, 3.0,
                                                [&](double c) { return core::rate_factor(energy, c, 23); });
      CHECK(got == Approx(3.0 * by_simpson(20, 20 + span, energy, 23)).epsilon(1e-11));
    }
  }
}

TEST_CASE("a polynomial of ninth degree is integrated exactly by one application of the rule") {
  const double got = core::gauss5(1.0, 3.0, [](double u) { return 10.0 * std::pow(u, 9.0); });
  CHECK(got == Approx(std::pow(3.0, 10.0) - 1.0).epsilon(1e-14));
}

TEST_CASE("a path is cut where the rate has a kink, so a jump costs no accuracy") {
  const std::vector<double> kinks{12.0};
  const auto stopped = [](double c) { return c < 12.0 ? 0.0 : 1.0; };
  // Falling 21 to 9 in two hours passes 12 at three quarters; rising 9 to 24 in six hours passes it at a
  // fifth.
  CHECK(core::integral_h(kNight, kinks, stopped) == Approx(1.5 + 4.8).epsilon(1e-13));
}

TEST_CASE("the moment of reaching a target is where the integral up to it equals the target") {
  const auto rate = [](double c) { return core::rate_factor(50, c, 20); };
  for (double target : {0.5, 2.0, 4.5}) {
    const auto at = core::reached_s(kNight, {}, target, rate);
    REQUIRE(at);
    CHECK(core::integral_h(core::path_until(kNight, *at), {}, rate) == Approx(target).epsilon(1e-11));
  }
  CHECK_FALSE(core::reached_s(kNight, {}, 100.0, rate));
}

TEST_CASE("a clock that stands still reaches its target only after it goes on") {
  const std::vector<PathPoint> path{{0, 20}, {3600, 20}, {7200, 5}, {10800, 5}, {14400, 20}, {18000, 20}};
  const std::vector<double> kinks{10.0};
  const auto stopped = [](double c) { return c < 10.0 ? 0.0 : 1.0; };
  const double before_stop = core::integral_h(core::path_until(path, 7200), kinks, stopped);
  CHECK(*core::reached_s(path, kinks, before_stop + 0.01, stopped) > 10800);
}

TEST_CASE("the pointwise bounds enclose every energy in the range, on both sides of the reference") {
  const core::EnergyRange range{45, 65};
  for (double c = 0; c <= 40; c += 1.3) {
    for (double energy = 45; energy <= 65; energy += 5) {
      CHECK(core::slowest_rate_factor(range, c, 20) <= core::rate_factor(energy, c, 20) + 1e-15);
      CHECK(core::fastest_rate_factor(range, c, 20) >= core::rate_factor(energy, c, 20) - 1e-15);
    }
  }
}

TEST_CASE("an energy found from a factor gives that factor back") {
  CHECK(core::factor_per_ten_kelvin(core::energy_from_factor(2.0, 15, 25), 15) == Approx(2.0).epsilon(1e-13));
}

}  // namespace setwell::tests
