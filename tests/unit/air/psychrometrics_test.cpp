#include "sensors/air/psychrometrics.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "sensors/air/saturation.hpp"

namespace setwell::tests {

using air::AirErrors;
using air::SurfaceFrom;
using quantity::Celsius;
using quantity::CelsiusDelta;
using quantity::RelativeHumidity;

namespace {

RelativeHumidity percent(double value) {
  return RelativeHumidity::percent(value);
}

AirErrors errors(double kelvin, double humidity) {
  return {CelsiusDelta(kelvin), humidity};
}

struct StatedError {
  double air, humidity, dew, from_temperature, from_humidity, rss, worst;
};

/// For ±0.3 °C and ±3 %, worked out once by hand from the derivatives; given to two decimals.
constexpr StatedError kStatedErrors[] = {
    {5, 90, 3.5, 0.30, 0.47, 0.56, 0.8},   {10, 60, 2.6, 0.28, 0.70, 0.76, 1.0},
    {20, 40, 6.0, 0.27, 1.08, 1.12, 1.3},  {20, 60, 12.0, 0.28, 0.76, 0.81, 1.0},
    {20, 80, 16.5, 0.29, 0.59, 0.66, 0.9}, {30, 70, 23.9, 0.29, 0.71, 0.77, 1.0}};

}  // namespace

TEST_CASE("the dew point is where the air's vapour would saturate") {
  for (double t = -20; t <= 45; t += 3.7) {
    for (double rh = 4; rh <= 100; rh += 8) {
      const double dew = air::dew_point(Celsius(t), percent(rh))->degrees();
      CHECK(air::water_saturation_pa(dew) == Approx(air::vapour_pa(t, rh)).epsilon(1e-11));
      CHECK(dew <= t + 1e-9);
    }
  }
}

TEST_CASE("saturated air has its own temperature as dew point, and readings above 100 % count as that") {
  CHECK(air::dew_point(Celsius(17.3), percent(100))->degrees() == Approx(17.3).margin(1e-9));
  CHECK(air::dew_point(Celsius(17.3), percent(104))->degrees() == Approx(17.3).margin(1e-9));
}

TEST_CASE("perfectly dry air has no dew point and no dew margin") {
  CHECK_FALSE(air::dew_point(Celsius(20), percent(0)));
  CHECK_FALSE(air::dew_point_slopes(Celsius(20), percent(0)));
  CHECK_FALSE(air::dew_margin(Celsius(20), percent(0), Celsius(20), {}, SurfaceFrom::same_sensor));
}

TEST_CASE("a frost point exists only under a dew point below freezing, and lies above it") {
  CHECK_FALSE(air::frost_point(Celsius(20), percent(60)));
  const double dew = air::dew_point(Celsius(5), percent(40))->degrees();
  const double frost = air::frost_point(Celsius(5), percent(40))->degrees();
  CHECK(dew < frost);
  CHECK(frost < 0);
  CHECK(air::ice_saturation_pa(frost) == Approx(air::vapour_pa(5, 40)).epsilon(1e-11));
}

TEST_CASE("water and ice have the same saturation pressure at the triple point") {
  CHECK(air::ice_saturation_pa(0.01) == Approx(air::water_saturation_pa(0.01)).epsilon(1e-5));
}

TEST_CASE("the slopes of the dew point are its differences") {
  const double step = 1e-4;
  for (double rh : {20.0, 50.0, 85.0}) {
    const auto slopes = air::dew_point_slopes(Celsius(18), percent(rh));
    const double by_t = (*air::dew_point_c(air::vapour_pa(18 + step, rh)) -
                         *air::dew_point_c(air::vapour_pa(18 - step, rh))) /
                        (2 * step);
    const double by_rh = (*air::dew_point_c(air::vapour_pa(18, rh + step)) -
                          *air::dew_point_c(air::vapour_pa(18, rh - step))) /
                         (2 * step);
    CHECK(slopes->per_kelvin == Approx(by_t).epsilon(1e-6));
    CHECK(slopes->per_percent == Approx(by_rh).epsilon(1e-6));
  }
}

TEST_CASE("the dew point's error has the stated parts") {
  for (const StatedError& want : kStatedErrors) {
    const auto got = air::dew_point_error(Celsius(want.air), percent(want.humidity), errors(0.3, 3));
    INFO(want.air << " degC " << want.humidity << " %");
    CHECK(air::dew_point(Celsius(want.air), percent(want.humidity))->degrees() ==
          Approx(want.dew).margin(0.06));
    CHECK(got->from_temperature == Approx(want.from_temperature).margin(0.006));
    CHECK(got->from_humidity == Approx(want.from_humidity).margin(0.006));
    CHECK(got->root_sum_square == Approx(want.rss).margin(0.006));
    CHECK(got->worst_case == Approx(want.worst).margin(0.06));
  }
}

TEST_CASE("the dew margin's worst case covers every error within the stated ones") {
  for (SurfaceFrom from : {SurfaceFrom::same_sensor, SurfaceFrom::separate_probe}) {
    const auto told = air::dew_margin(Celsius(19), percent(65), Celsius(17), errors(0.5, 5), from);
    double lowest = 1e9;
    for (double dt = -0.5; dt <= 0.5; dt += 0.125) {
      for (double ds = -0.5; ds <= 0.5; ds += 0.125) {
        for (double dh = -5; dh <= 5; dh += 1.25) {
          const double surface = 17 + (from == SurfaceFrom::same_sensor ? dt : ds);
          lowest = std::min(lowest, surface - *air::dew_point_c(air::vapour_pa(19 + dt, 65 + dh)));
        }
      }
    }
    CHECK(told->margin.kelvin() - told->error.kelvin() == Approx(lowest).margin(1e-9));
  }
}

TEST_CASE("an error of half a degree and five per cent makes 1.1 to 1.7 K of dew margin from one sensor") {
  for (double t : {16.0, 20.0, 25.0}) {
    for (double rh : {45.0, 55.0, 68.0}) {
      const auto one = air::dew_margin(Celsius(t), percent(rh), Celsius(t), {}, SurfaceFrom::same_sensor);
      const auto two = air::dew_margin(Celsius(t), percent(rh), Celsius(t), {}, SurfaceFrom::separate_probe);
      CHECK(one->error.kelvin() > 1.05);
      CHECK(one->error.kelvin() < 1.75);
      CHECK(two->error.kelvin() - one->error.kelvin() == Approx(0.95).margin(0.1));
    }
  }
}

TEST_CASE(
    "humidity at the surface is that of the air where both are equally warm, and rises on a colder piece") {
  CHECK(air::surface_humidity(Celsius(20), percent(62), Celsius(20)) == Approx(0.62));
  CHECK(air::surface_humidity(Celsius(20), percent(62), Celsius(12)) > 1.0);
}

}  // namespace setwell::tests
