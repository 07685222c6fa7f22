#include <catch2/catch.hpp>

#include "sensors/screen/silence.hpp"
#include "sensors/screen/stuck.hpp"
#include "tests/unit/screen/readings.hpp"

using namespace setwell;
using namespace setwell::tests;
using screen::Point;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

std::vector<Point> points(quantity::Span step, int count, double from, double by) {
  std::vector<Point> all;
  for (int i = 0; i < count; ++i)
    all.push_back({morning() + step * i, from + by * i});
  return all;
}

}  // namespace

TEST_CASE("A channel is silent from its limit past the last good reading on", "[silence]") {
  const auto last = morning();
  CHECK_FALSE(screen::silent_since(last, last, minutes(15), last + minutes(14)));
  CHECK(screen::silent_since(last, last, minutes(15), last + minutes(15)) == last + minutes(15));
  CHECK(screen::silent_since(last, last, minutes(15), last + hours(9)) == last + minutes(15));
}

TEST_CASE("A channel that never told anything is silent from its limit past the start on", "[silence]") {
  CHECK_FALSE(screen::silent_since({}, morning(), minutes(15), morning()));
  CHECK(screen::silent_since({}, morning(), minutes(15), morning() + hours(1)) == morning() + minutes(15));
  CHECK(screen::silence_begins({}, morning(), minutes(15)) == morning() + minutes(15));
}

TEST_CASE("An identical value for twelve hours while a neighbour moves 3 K is suspect", "[stuck]") {
  const auto own = points(minutes(10), 73, 21.37, 0.0);
  const auto moving = points(minutes(10), 73, 18.0, 3.0 / 72 + 1e-6);
  CHECK(screen::stuck_since(own, moving, hours(12)) == morning());
  CHECK_FALSE(screen::stuck_since(own, points(minutes(10), 73, 18.0, 2.9 / 72), hours(12)));
  CHECK_FALSE(screen::stuck_since(own, {}, hours(12)));
  CHECK_FALSE(screen::stuck_since(std::span(own).first(72), moving, hours(12)));
}

TEST_CASE("A value that changed in the last hours is not stuck, and what moved before does not count",
          "[stuck]") {
  auto own = points(minutes(10), 100, 21.37, 0.0);
  const auto moving = points(minutes(10), 100, 18.0, 0.1);
  own[40].value = 21.38;
  CHECK_FALSE(screen::stuck_since(own, moving, hours(12)));
  CHECK(screen::unchanged_since(own) == morning() + minutes(410));
  own = points(minutes(10), 100, 21.37, 0.0);
  auto early = points(minutes(10), 100, 18.0, 0.0);
  own[10].value = 25.0;
  early[5].value = 30.0;
  CHECK_FALSE(screen::stuck_since(own, early, hours(12)));
  CHECK_FALSE(screen::unchanged_since({}));
}
