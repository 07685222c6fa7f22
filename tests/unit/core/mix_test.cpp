#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/mix_check.hpp"
#include "daemon/core/show.hpp"

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

namespace {

Mix by_weight(double ratio, double tolerance = 0.03) {
  Mix mix;
  mix.by_weight = ratio;
  mix.tolerance = tolerance;
  return mix;
}

MixCheck check(double ratio, double a, double b, double scale) {
  return check_mix(by_weight(ratio), Grams(a), Grams(b), Grams(scale));
}

/// How far off a 20 g mix could be on a 1 g scale, in percent, the mean of both ways.
double coarse_error(double ratio) {
  const double b = 20 / (1 + ratio);
  const MixCheck found = check(ratio, 20 - b, b, 1.0);
  return 50 * (found.most - found.least) / found.weighed;
}

Display display(Units units = Units::celsius, ClockStyle clock = ClockStyle::h24) {
  return {units, clock, TimeZone("Somewhere", 60min, {})};
}

Instant at(const char* text) {
  return *parse_rfc3339(text);
}

const Instant kNow = at("2031-03-04T14:00:00+01:00");

}  // namespace

TEST_CASE("a mix within the tolerance whatever the scale rounded holds", "[mix]") {
  CHECK(check(2.0, 100.0, 50.0, 0.1).finding == RatioFinding::holds);
  CHECK(check(2.0, 100.0, 50.7, 0.1).finding == RatioFinding::holds);
}

TEST_CASE("weighing the ratio by volume is told as too much or too little of B", "[mix]") {
  const MixCheck found = check(100.0 / 44.0, 100.0, 50.0, 0.1);  // 2:1 by volume put on the scale
  CHECK(found.finding == RatioFinding::off);
  CHECK(found.part_b_percent == Approx(13.6).margin(0.1));
  CHECK(sentence(found).find("14 % too much part B") != std::string::npos);
  CHECK(sentence(check(2.0, 100.0, 40.0, 0.1)).find("20 % too little part B") != std::string::npos);
}

TEST_CASE("a coarse scale cannot tell of a small mix, and says how much it could hold", "[mix]") {
  const MixCheck found = check(1.0, 10.0, 10.0, 1.0);
  CHECK(found.finding == RatioFinding::cannot_tell);
  CHECK(found.scale_percent == Approx(10.5).margin(0.1));
  REQUIRE(found.least_batch);
  const double half = std::ceil(found.least_batch->value()) / 2;
  CHECK(check(1.0, half, half, 1.0).finding == RatioFinding::holds);
}

TEST_CASE("a mix lighter than the scale can show does not divide by nothing", "[mix]") {
  const MixCheck found = check(1.0, 0.4, 0.4, 1.0);
  CHECK(found.finding == RatioFinding::cannot_tell);
  CHECK(std::isinf(found.most));
  CHECK(sentence(found).find("cannot tell") == 0);
}

TEST_CASE("errors of a 20 g mix on a 1 g scale are those of the trade", "[mix]") {
  // The trade's figures are given to a percent.
  CHECK(coarse_error(1.0) == Approx(10).margin(1));
  CHECK(coarse_error(2.0) == Approx(12).margin(1));
  CHECK(coarse_error(3.5) == Approx(15).margin(1));
  CHECK(coarse_error(5.0) == Approx(19).margin(1));
}

TEST_CASE("a ratio by volume becomes one by weight with both densities, and none without", "[mix]") {
  Mix mix;
  mix.by_volume = 2.0;
  CHECK_FALSE(weight_ratio(mix));
  CHECK(check_mix(mix, Grams(1), Grams(1), Grams(0.1)).finding == RatioFinding::not_stated);
  mix.density_a = GramsPerCubicCentimetre(1.15);
  mix.density_b = GramsPerCubicCentimetre(1.00);
  CHECK(*weight_ratio(mix) == Approx(2.3));
}

TEST_CASE("whatever was truly poured, the finding never contradicts it", "[mix]") {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> ratio(0.8, 6.0);
  std::uniform_real_distribution<double> part(3.0, 60.0);
  std::uniform_real_distribution<double> slip(0.9, 1.1);
  int told = 0;
  for (int round = 0; round < 3000; ++round) {
    const double wanted = ratio(random);
    const double b = part(random);
    const double a = b * wanted * slip(random);
    const double scale = round % 2 == 0 ? 0.1 : 1.0;
    const auto shown = [&](double grams) { return std::max(scale, std::round(grams / scale) * scale); };
    const MixCheck found = check(wanted, shown(a), shown(b), scale);
    const bool right = std::abs(a / b / wanted - 1) <= 0.03;
    told += found.finding != RatioFinding::cannot_tell;
    if (found.finding == RatioFinding::holds) REQUIRE(right);
    if (found.finding == RatioFinding::off) REQUIRE_FALSE(right);
  }
  CHECK(told > 1000);
}

TEST_CASE("temperatures are shown in the workshop's unit", "[show]") {
  CHECK(show(Celsius(18.44), display()) == "18.4 °C");
  CHECK(show(Celsius(-0.04), display()) == "0.0 °C");
  CHECK(show(Celsius(18.4), display(Units::fahrenheit)) == "65.1 °F");
  CHECK(show(CelsiusDelta(2.8), display(Units::fahrenheit)) == "5.0 °F");
  CHECK(show(CelsiusDelta(2.8), display()) == "2.8 °C");
  CHECK(show(RelativeHumidity::percent(61.2)) == "61 %");
  CHECK(show(Grams(12.5)) == "12.5 g");
}

TEST_CASE("spans are shown as people say them", "[show]") {
  CHECK(show(Span(45s)) == "45 s");
  CHECK(show(Span(12min)) == "12 min");
  CHECK(show(Span(2h + 10min)) == "2 h 10 min");
  CHECK(show(Span(2h)) == "2 h");
  CHECK(show(Span(59min + 40s)) == "1 h");
  CHECK(show(Span(76h)) == "3 d 4 h");
  CHECK(show(Span(48h)) == "2 d");
  CHECK(show(Span(-90s)) == "-2 min");
}

TEST_CASE("moments are shown by the maker's days", "[show]") {
  CHECK(moment(at("2031-03-04T14:30:00+01:00"), kNow, display()) == "today 14:30");
  CHECK(moment(at("2031-03-05T07:10:00+01:00"), kNow, display()) == "tomorrow 07:10");
  CHECK(moment(at("2031-03-03T21:00:00+01:00"), kNow, display()) == "yesterday 21:00");
  CHECK(moment(at("2031-03-12T09:00:00+01:00"), kNow, display()) == "Wed 12 Mar 09:00");
  CHECK(moment(at("2032-03-12T09:00:00+01:00"), kNow, display()) == "Fri 12 Mar 2032 09:00");
  CHECK(moment(at("2031-03-04T23:30:00Z"), kNow, display()) == "tomorrow 00:30");
  CHECK(moment(at("2031-03-04T14:30:00+01:00"), kNow, display(Units::celsius, ClockStyle::h12)) ==
        "today 2:30 pm");
  CHECK(clock_time(at("2031-03-04T00:05:00+01:00"), display(Units::celsius, ClockStyle::h12)) == "12:05 am");
  CHECK(clock_time(at("2031-03-04T12:05:00+01:00"), display(Units::celsius, ClockStyle::h12)) == "12:05 pm");
}

TEST_CASE("a window is never shown wider than it is", "[show]") {
  CHECK(stretch(at("2031-03-04T14:30:01+01:00"), at("2031-03-04T18:00:59+01:00"), kNow, display()) ==
        "today 14:31 to 18:00");
  CHECK(stretch(at("2031-03-04T22:00:00+01:00"), at("2031-03-05T07:00:00+01:00"), kNow, display()) ==
        "today 22:00 to tomorrow 07:00");
  CHECK(stretch(at("2031-03-04T14:30:01+01:00"), {}, kNow, display()) == "from today 14:31");
  CHECK(stretch({}, at("2031-03-05T07:00:30+01:00"), kNow, display()) == "until tomorrow 07:00");
  CHECK(stretch({}, {}, kNow, display()).empty());
}
