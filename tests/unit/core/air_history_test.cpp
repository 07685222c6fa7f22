#include "daemon/core/air_history.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

namespace setwell::tests {

using core::AirHistory;
using core::AirPiece;
using core::AirPoint;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

namespace {

std::vector<AirPoint> random_points(std::mt19937& random, int count) {
  std::vector<AirPoint> points;
  Instant at = kMonday + minutes(7);
  for (int i = 0; i < count; ++i) {
    at += uniform(random, 0, 1) < 0.02 ? quantity::Span(hours(3))
                                       : quantity::Span(seconds(40 + random() % 600));
    points.push_back({at, uniform(random, 10, 25), 0.5});
  }
  return points;
}

AirHistory filled(const std::vector<AirPoint>& points) {
  AirHistory air;
  for (const AirPoint& p : points) {
    air.put_temperature(p);
    air.put_humidity({p.at, p.value * 2, 5});
  }
  return air;
}

}  // namespace

TEST_CASE("Readings give the same pieces in whatever order they came", "[air]") {
  std::mt19937 random(11);
  std::vector<AirPoint> points = random_points(random, 400);
  const AirHistory in_order = filled(points);
  std::shuffle(points.begin(), points.end(), random);
  const AirHistory shuffled = filled(points);
  CHECK(shuffled == in_order);
  CHECK(shuffled.pieces(kMonday, kMonday + days(9)) == in_order.pieces(kMonday, kMonday + days(9)));
}

TEST_CASE("Pieces lie end to end and each is a line or a silence", "[air]") {
  std::mt19937 random(12);
  const AirHistory air = filled(random_points(random, 400));
  const auto pieces = air.pieces(kMonday, kMonday + days(30));
  REQUIRE(pieces.size() > 300);
  CHECK(pieces.front().from == kMonday);
  CHECK(pieces.back().to == *air.recorded_upto());
  int silent = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    REQUIRE(pieces[i].from < pieces[i].to);
    if (i > 0) REQUIRE(pieces[i].from == pieces[i - 1].to);
    if (i > 0 && !pieces[i].temperature.silent && !pieces[i - 1].temperature.silent)
      REQUIRE(pieces[i].temperature.from == Approx(pieces[i - 1].temperature.to));
    const auto day = std::chrono::floor<days>(pieces[i].from);
    REQUIRE(pieces[i].to <= day + days(1));
    silent += pieces[i].temperature.silent;
  }
  CHECK(silent > 5);
}

TEST_CASE("Slices of whole pieces join to what one request gives", "[air]") {
  std::mt19937 random(13);
  const AirHistory air = filled(random_points(random, 300));
  const auto all = air.pieces(kMonday, kMonday + days(30));
  std::vector<AirPiece> joined;
  Instant from = kMonday, until = kMonday;
  while (joined.size() < all.size()) {
    until += minutes(random() % 300);
    const auto slice = air.whole_pieces(from, until, random() % 40);
    if (!slice.empty()) {
      REQUIRE(slice.back().to <= until);
      from = slice.back().to;
    }
    joined.insert(joined.end(), slice.begin(), slice.end());
  }
  CHECK(joined == all);
}

TEST_CASE("Between two readings within the limit the air is a line cut at midnight", "[air]") {
  AirHistory air;
  air.put_temperature({kMonday + days(1) - minutes(5), 10, 0.5});
  air.put_temperature({kMonday + days(1) + minutes(5), 20, 1.0});
  const auto pieces = air.pieces(kMonday + days(1) - minutes(5), kMonday + days(2));
  REQUIRE(pieces.size() == 2);
  CHECK(pieces[0].temperature.to == Approx(15));
  CHECK(pieces[1].temperature.from == Approx(15));
  CHECK(pieces[1].temperature.to == 20);
  CHECK(pieces[1].temperature.error == 1.0);
  CHECK_FALSE(pieces[1].humidity);
}

TEST_CASE("A silence holds its edges and what those hours have been, and the root of its hours more",
          "[air]") {
  AirHistory air = room(kMonday, days(3), minutes(10), wave(18, 4), 0.5);
  const Instant before = kMonday + days(3), after = before + hours(6);
  air.put_temperature({after, 30, 0.5});
  const auto pieces = air.pieces(before, after);
  REQUIRE(pieces.size() == 6);
  for (const AirPiece& piece : pieces) {
    const core::Stretch& t = piece.temperature;
    REQUIRE(t.silent);
    REQUIRE(t.closed);
    CHECK(t.most == Approx(30 + std::sqrt(6)));
    CHECK(t.least <= 18 - std::sqrt(6));
    const double hour = quantity::Hours(piece.from - kMonday).count() + 0.5;
    CHECK(t.middle == Approx(wave(18, 4)(hour)).margin(0.15));
    CHECK(t.least <= t.middle);
    CHECK(t.middle <= t.most);
  }
  // Two in the afternoon is not judged by what mornings were.
  CHECK(pieces[1].temperature.least ==
        Approx(18 - 4 * std::sin(3.14159265358979 / 6) - std::sqrt(6)).margin(0.4));
}

TEST_CASE("Both edges of a silence bound the humidity of every hour of it", "[air]") {
  AirHistory air;
  for (const Instant t : {kMonday, kMonday + hours(4)}) {
    air.put_temperature({t, 18, 0.5});
    air.put_humidity({t, t == kMonday ? 50.0 : 60.0, 5});
  }
  for (const AirPiece& piece : air.pieces(kMonday, kMonday + hours(4))) {
    REQUIRE(piece.humidity);
    CHECK(piece.humidity->silent);
    CHECK(piece.humidity->least == Approx(50 - 5.3));
    CHECK(piece.humidity->most == Approx(60 + 5.3));
    CHECK(piece.humidity->middle == 55);
  }
  // What is told after a piece had left does not count for it.
  for (const AirPiece& piece : air.as_left(kMonday + hours(1), kMonday + hours(3)))
    CHECK(piece.humidity->most == Approx(50 + 5.0));
}

TEST_CASE("Humidity alone may be silent, and both its edges bound it then, too", "[air]") {
  AirHistory air = steady_room(kMonday + hours(4), hours(1), 18, 0.5);
  for (int i = 0; i < 24; ++i)
    air.put_temperature({kMonday + minutes(10) * i, 18, 0.5});
  air.put_humidity({kMonday, 20, 5});
  for (const AirPiece& piece : air.pieces(kMonday, kMonday + hours(4))) {
    CHECK_FALSE(piece.temperature.silent);
    CHECK(piece.humidity->silent);
    CHECK(piece.humidity->least == Approx(20 - 5.3));
    CHECK(piece.humidity->most > 45);
  }
}

TEST_CASE("The hour that a silence began in is no earlier day's same hour", "[air]") {
  AirHistory air;
  air.put_temperature({kMonday + hours(1) + minutes(5), 16, 0.5});
  air.put_temperature({kMonday + hours(3), 20, 0.5});
  for (const AirPiece& piece : air.pieces(kMonday + hours(1) + minutes(5), kMonday + hours(3)))
    CHECK(piece.temperature.middle == 18);
}

TEST_CASE("More than a day after the last reading the range of two weeks counts", "[air]") {
  AirHistory air = room(kMonday, days(2), minutes(10), wave(18, 4), 0.5);
  air.put_temperature({kMonday - days(5), 2, 0.5});
  const auto tail = air.tail(kMonday + days(4));
  const auto at = [&](Instant t) {
    return std::find_if(tail.begin(), tail.end(), [&](const AirPiece& p) { return p.to > t; })->temperature;
  };
  CHECK(at(kMonday + days(2) + hours(20)).least > 2);
  CHECK(at(kMonday + days(3) + hours(2)).least == Approx(2 - 3));
  CHECK(at(kMonday + days(3) + hours(2)).most >= 22 + 3 - 0.01);
}

TEST_CASE("Past the newest reading its value holds as long as the limit, then a silence goes on", "[air]") {
  const AirHistory air = steady_room(kMonday, hours(5), 17, 0.5);
  const Instant last = kMonday + hours(5);
  CHECK(air.tail(last).empty());
  CHECK_FALSE(air.silent_since(last + minutes(15)));
  const auto tail = air.tail(last + minutes(40));
  REQUIRE(tail.size() >= 2);
  CHECK(tail[0].to == last + minutes(15));
  CHECK(tail[0].temperature.from == 17);
  CHECK(tail[0].temperature.to == 17);
  CHECK(tail[1].temperature.silent);
  CHECK_FALSE(tail[1].temperature.closed);
  CHECK(tail.back().to == last + minutes(40));
  CHECK(*air.silent_since(last + minutes(40)) == last + minutes(15));
}

TEST_CASE("Before the first reading there is a silence with one edge", "[air]") {
  const AirHistory air = steady_room(kMonday + hours(1), hours(5), 17, 0.5);
  const auto pieces = air.pieces(kMonday, kMonday + hours(1));
  REQUIRE(pieces.size() == 1);
  CHECK(pieces[0].temperature.silent);
  CHECK_FALSE(pieces[0].temperature.closed);
  CHECK(pieces[0].temperature.least <= 15);
  CHECK(pieces[0].temperature.most >= 19);
}

TEST_CASE("What a zone told after a piece had left it does not count for the piece", "[air]") {
  const Instant left = kMonday + hours(2) + minutes(3);
  AirHistory air = steady_room(kMonday, hours(2), 17, 0.5);
  const auto then = air.as_left(kMonday, left);
  CHECK(then.back().to == left);
  air.put_temperature({left + minutes(1), 30, 0.5});
  CHECK(air.as_left(kMonday, left) == then);
  CHECK(air.pieces(kMonday, left) != then);
}

TEST_CASE("Humidity is held for its limit, silent after it, and absent where there never was any", "[air]") {
  AirHistory air;
  for (int m = 0; m <= 60; m += 5)
    air.put_temperature({kMonday + minutes(m), 20, 0.5});
  CHECK_FALSE(air.pieces(kMonday, kMonday + hours(1)).front().humidity);
  air.put_humidity({kMonday, 60, 5});
  air.put_humidity({kMonday + minutes(10), 70, 5});
  const auto pieces = air.pieces(kMonday, kMonday + hours(1));
  CHECK(pieces[0].humidity->to == 60);
  CHECK(pieces[1].humidity->from == 60);
  CHECK(pieces[1].humidity->to == 70);
  CHECK_FALSE(pieces[3].humidity->silent);
  CHECK(pieces[6].humidity->silent);
  CHECK(pieces[6].humidity->least == 55);
  CHECK(pieces[6].humidity->most == 75);
}

TEST_CASE("Coming air is taken from the same hour of the last recorded day, else from the last value",
          "[air]") {
  const AirHistory air = room(kMonday, days(2), minutes(10), wave(18, 4), 0.5);
  const Instant now = kMonday + days(2);
  for (const int ahead : {1, 7, 20, 30, 100}) {
    const auto piece = air.assumed(now + hours(ahead), now + hours(ahead) + minutes(15));
    REQUIRE(piece);
    CHECK(piece->temperature.from == Approx(wave(18, 4)(ahead % 24)).margin(0.02));
    CHECK(piece->humidity->from == 50);
  }
  AirHistory young;
  CHECK_FALSE(young.assumed(now, now + hours(1)));
  young.put_temperature({now, 19, 0.5});
  CHECK(young.assumed(now + hours(5), now + hours(6))->temperature.from == 19);
}

TEST_CASE("Points can be replaced, taken out and forgotten", "[air]") {
  AirHistory air;
  CHECK(air.put_temperature({kMonday, 20, 0.5}));
  CHECK_FALSE(air.put_temperature({kMonday, 20, 0.5}));
  CHECK(air.put_temperature({kMonday, 21, 0.5}));
  CHECK(air.temperature().size() == 1);
  CHECK_FALSE(air.drop_temperature(kMonday + minutes(1)));
  CHECK(air.drop_temperature(kMonday));
  CHECK_FALSE(air.recorded_upto());
  air = steady_room(kMonday, hours(5), 17, 0.5);
  air.forget_before(kMonday + hours(4));
  CHECK(air.temperature().front().at == kMonday + hours(4));
}

TEST_CASE("What no air can be is not taken into a history, and no number comes of it", "[air]") {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  AirHistory air;
  for (const double value : {nan, inf, -inf, -273.0, -60.1, 150.1, 1e300})
    CHECK_FALSE(air.put_temperature({kMonday, value, 0.5}));
  for (const double value : {nan, inf, -inf, -0.1, 105.1, 6553.5})
    CHECK_FALSE(air.put_humidity({kMonday, value, 5}));
  for (const double error : {nan, inf, -0.1, 1e9}) {
    CHECK_FALSE(air.put_temperature({kMonday, 20, error}));
    CHECK_FALSE(air.put_humidity({kMonday, 50, error}));
  }
  CHECK_FALSE(air.recorded_upto());
  CHECK(air.pieces(kMonday, kMonday + days(1)).empty());
  CHECK_FALSE(air.assumed(kMonday, kMonday + hours(1)));
}

TEST_CASE("A refused value takes nothing from the one that stands at its time", "[air]") {
  AirHistory air;
  CHECK(air.put_temperature({kMonday, 20, 0.5}));
  CHECK_FALSE(air.put_temperature({kMonday, std::numeric_limits<double>::quiet_NaN(), 0.5}));
  REQUIRE(air.temperature().size() == 1);
  CHECK(air.temperature().front().value == 20);
}

TEST_CASE("Reversed, duplicate and absurd samples never make a clock tell what is no number", "[air]") {
  std::mt19937 random(17);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (int round = 0; round < 20; ++round) {
    AirHistory wild, clean;
    for (int i = 0; i < 400; ++i) {
      const Instant at = kMonday + minutes(static_cast<int>(random() % (48 * 60)));
      const double kind = uniform(random, 0, 1);
      const double value = kind < 0.1   ? nan
                           : kind < 0.2 ? uniform(random, -1e4, 1e4)
                                        : uniform(random, 5, 30);
      const double error = kind < 0.05 ? -1 : 0.5;
      wild.put_temperature({at, value, error});
      wild.put_humidity({at, value * 2, error});
      if (value >= -60 && value <= 150 && error >= 0) clean.put_temperature({at, value, error});
      if (value * 2 >= 0 && value * 2 <= 105 && error >= 0) clean.put_humidity({at, value * 2, error});
    }
    CHECK(wild == clean);
    core::Material water = water_borne();
    const auto outlook = run_of(coat_of(water, kMonday)).outlook(only(wild), kMonday + days(3));
    for (const auto& clock : outlook.clocks) {
      CHECK(std::isfinite(clock.progress.slow));
      CHECK(std::isfinite(clock.progress.fast));
      CHECK(clock.progress.slow <= clock.progress.expected);
      CHECK(clock.progress.expected <= clock.progress.fast);
    }
  }
}

}  // namespace setwell::tests
