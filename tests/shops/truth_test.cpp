#include "tests/shops/truth.hpp"

#include <cmath>

#include <catch2/catch.hpp>

using namespace setwell::shops;

namespace {

std::vector<TrueAir> steady(double celsius, double percent, double minutes) {
  return {{0, celsius, percent}, {minutes, celsius, percent}};
}

TrueCurve two_rows() {
  return TrueCurve({{10, std::log(400.0)}, {20, std::log(200.0)}});
}

/// When the only way of a coat poured at 0 is reached.
double reached(const std::vector<TrueAir>& air, const TrueCoat& coat, double step = 0.5) {
  const TrueCurve curve = two_rows();
  return live_through(air, coat, {&curve}, step, 3.0).ways.front().reached.value();
}

}  // namespace

TEST_CASE("A true curve holds its rows and is straight in 1/T between and beyond them", "[truth]") {
  const TrueCurve curve = two_rows();
  CHECK(curve.minutes_at(10) == Approx(400));
  CHECK(curve.minutes_at(20) == Approx(200));
  const double energy = std::log(2.0) / (1 / 283.15 - 1 / 293.15);
  CHECK(curve.minutes_at(15) == Approx(200 * std::exp(energy * (1 / 288.15 - 1 / 293.15))));
  CHECK(curve.minutes_at(5) == Approx(200 * std::exp(energy * (1 / 278.15 - 1 / 293.15))));
}

TEST_CASE("A piece in steady air takes the row's time, times its own pace", "[truth]") {
  TrueCoat coat;
  coat.lag = 5;
  CHECK(reached(steady(20, 50, 2000), coat) == Approx(200).epsilon(1e-6));
  coat.pace = 1.2;
  CHECK(reached(steady(20, 50, 2000), coat) == Approx(240).epsilon(1e-6));
}

TEST_CASE("A cold piece comes later, by the integral of its warming", "[truth]") {
  TrueCoat coat;
  coat.lag = 20;
  coat.brought_in_at = 5;
  const TrueCurve curve = two_rows();
  // The same integral by brute force, a thousandth of a minute at a time.
  double done = 0, minute = 0;
  for (; done < 1; minute += 0.001)
    done += 0.001 / curve.minutes_at(20 - 15 * std::exp(-(minute + 0.0005) / 20));
  CHECK(reached(steady(20, 50, 2000), coat, 0.25) == Approx(minute).epsilon(1e-4));
}

TEST_CASE("Under its floor a piece stands still", "[truth]") {
  TrueCoat coat;
  coat.lag = 1;
  coat.floor = 15;
  const std::vector<TrueAir> air{{0, 20, 50},   {100, 20, 50}, {101, 10, 50},
                                 {401, 10, 50}, {402, 20, 50}, {2000, 20, 50}};
  CHECK(reached(air, coat, 0.1) == Approx(500).margin(3));
}

TEST_CASE("Damp air slows what gives off water and speeds what takes it up; the sheet's own air does neither",
          "[truth]") {
  TrueCoat coat;
  coat.drying = Drying::by_evaporating_water;
  CHECK(reached(steady(20, 50, 9000), coat) == Approx(200).epsilon(1e-6));
  CHECK(reached(steady(20, 75, 9000), coat) == Approx(400).epsilon(1e-6));
  coat.drying = Drying::by_taking_up_water;
  CHECK(reached(steady(20, 50, 9000), coat) == Approx(200).epsilon(1e-6));
  CHECK(reached(steady(20, 80, 9000), coat) == Approx(125).epsilon(1e-6));
}

TEST_CASE("The dew point is that of the tables to a tenth of a kelvin", "[truth]") {
  CHECK(true_dew_point(20, 60) == Approx(12.0).margin(0.1));
  CHECK(true_dew_point(10, 60) == Approx(2.6).margin(0.1));
  CHECK(true_dew_point(20, 100) == Approx(20.0).margin(0.01));
}
