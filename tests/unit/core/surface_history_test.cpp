#include "daemon/core/surface_history.hpp"

#include <algorithm>
#include <chrono>
#include <vector>

#include <catch2/catch.hpp>

#include "daemon/core/coat_run.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// A surface that a channel measures at the place where a piece lies.
namespace setwell::tests {

using core::AirPoint;
using core::CoatCase;
using core::SurfaceHistory;
using quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;
using Past = SurfaceHistory::Past;

namespace {

constexpr Instant kEver = Instant::max();

SurfaceHistory history(const std::vector<AirPoint>& points) {
  SurfaceHistory made(minutes(15));
  for (const auto& point : points)
    (void)made.put(point);
  return made;
}

/// A room at 22 °C whose hook holds things at `celsius` from `from` to `to`, told every five minutes.
core::AirHistory room_with_hook(double celsius, Instant from, Instant to) {
  auto air = steady_room(kMonday, hours(12), 22, 0.5, 50);
  air.add_place("hook", minutes(15));
  for (Instant at = from; at <= to; at += minutes(5))
    (void)air.surface("hook")->put({at, celsius, 0.3});
  return air;
}

CoatCase on_the_hook(Instant coated) {
  CoatCase coat = coat_of(three_row_epoxy(), coated);
  coat.stays = {{coated, coat.coat.made.zone, "hook"}};
  return coat;
}

double slow_progress(const CoatCase& coat, const core::AirHistory& air, Instant now) {
  return run_of(coat).outlook(only(air), now).clocks.front().progress.slow;
}

}  // namespace

TEST_CASE("Between two readings no silence apart the surface goes in a line", "[surface]") {
  const auto surface = history({{kMonday, 14, 0.3}, {kMonday + minutes(10), 18, 0.5}});
  const auto half = surface.over(kMonday + minutes(5), kEver, Past::unknown);
  REQUIRE(half);
  CHECK(half->celsius == Approx(16));
  CHECK(half->error == 0.5);
  CHECK(half->slope == Approx(4.0 / 600));
  CHECK_FALSE(surface.over(kMonday - minutes(1), kEver, Past::held));
}

TEST_CASE("Over a silence of the surface nothing was measured, and past the newest it is held if asked",
          "[surface]") {
  const auto surface = history({{kMonday, 14, 0.3}, {kMonday + minutes(16), 14, 0.3}});
  CHECK_FALSE(surface.over(kMonday, kEver, Past::held));
  CHECK_FALSE(surface.over(kMonday + minutes(16), kEver, Past::unknown));
  CHECK(surface.over(kMonday + minutes(20), kMonday + minutes(31), Past::held)->celsius == 14);
  CHECK_FALSE(surface.over(kMonday + minutes(20), kMonday + minutes(32), Past::held));
  CHECK(surface.over(kMonday + minutes(2), kMonday + minutes(15), Past::held));
}

TEST_CASE("Clocks wait for the surface's next reading, but for no silent channel", "[surface]") {
  const auto surface = history({{kMonday, 14, 0.3}});
  CHECK(surface.settled_upto(kMonday + minutes(15)) == kMonday);
  CHECK(surface.settled_upto(kMonday + minutes(16)) == kMonday + minutes(16));
  CHECK(SurfaceHistory().settled_upto(kMonday) == kMonday);
}

TEST_CASE("A reading that comes or goes says from when on the surface means something else", "[surface]") {
  auto surface = history({{kMonday, 14, 0.3}, {kMonday + minutes(10), 14, 0.3}});
  CHECK(surface.put({kMonday + minutes(5), 15, 0.3}) == kMonday);
  CHECK(surface.put({kMonday + minutes(5), 15, 0.3}) == std::nullopt);
  CHECK(surface.put({kMonday + minutes(40), 15, 0.3}) == kMonday + minutes(40));
  CHECK(surface.drop(kMonday + minutes(5)) == kMonday);
  CHECK(surface.drop(kMonday + minutes(5)) == std::nullopt);
  CHECK(surface.put({kMonday + minutes(50), 400, 0.3}) == std::nullopt);
  auto other =
      history({{kMonday + minutes(40), 15, 0.3}, {kMonday + minutes(10), 14, 0.3}, {kMonday, 14, 0.3}});
  CHECK(surface == other);
}

TEST_CASE("A coat at a measured place runs on that surface, with the channel's own error", "[surface]") {
  const Instant coated = kMonday + hours(1), now = kMonday + hours(5);
  const auto air = room_with_hook(12, kMonday, now);
  const auto outlook = run_of(on_the_hook(coated)).outlook(only(air), now);
  REQUIRE(outlook.surface_c);
  CHECK(outlook.surface_c->slow == Approx(11.7));
  CHECK(outlook.surface_c->expected == Approx(12.0));
  CHECK(outlook.surface_c->fast == Approx(12.3));
  const auto cold = steady_room(kMonday, hours(12), 12, 0.3, 50);
  CoatCase there = on_the_hook(coated);
  there.stays.clear();
  there.lag = quantity::Minutes(0.5);
  CHECK(outlook.clocks.front().progress.slow == Approx(slow_progress(there, cold, now)).epsilon(0.01));
  CHECK(outlook.clocks.front().progress.slow < slow_progress(there, air, now));
}

TEST_CASE("When the place's channel falls silent the lag bounds hold again", "[surface]") {
  const Instant coated = kMonday + hours(1), silent = kMonday + hours(2), now = kMonday + hours(6);
  const auto air = room_with_hook(12, kMonday, silent);
  const auto outlook = run_of(on_the_hook(coated)).outlook(only(air), now);
  REQUIRE(outlook.surface_c);
  CHECK(outlook.surface_c->expected == Approx(22).margin(0.1));
  CHECK(outlook.clocks.front().progress.slow >
        slow_progress(on_the_hook(coated), room_with_hook(12, kMonday, now), now));
  CoatCase elsewhere = on_the_hook(coated);
  elsewhere.stays = {{coated, elsewhere.coat.made.zone, "shelf"}};
  CHECK(outlook.clocks.front().progress.slow < slow_progress(elsewhere, air, now));
}

TEST_CASE("In slices or at once, a coat at a measured place comes to the same bits", "[surface]") {
  const Instant coated = kMonday + hours(1), upto = kMonday + hours(8);
  auto air = room_with_hook(12, kMonday + minutes(3), upto);
  (void)air.surface("hook")->put({kMonday + hours(3) + std::chrono::seconds(7), 13.3, 0.3});
  auto whole = run_of(on_the_hook(coated)), sliced = whole;
  (void)whole.advance(only(air), upto, 100000);
  while (sliced.advance(only(air), upto, 1)) {
  }
  CHECK(whole.save() == sliced.save());
}

}  // namespace setwell::tests
