#include "daemon/core/batch_run.hpp"

#include <chrono>

#include <catch2/catch.hpp>

#include "daemon/core/pot_life.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

namespace setwell::tests {

using core::AirHistory;
using core::Batch;
using core::BatchOutlook;
using quantity::Hours;
using quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

core::Material pot_epoxy() {
  core::Material m = three_row_epoxy();
  m.pot_life = table({{15, 2, 2}, {20, 1, 1.5}, {30, 0.5, 0.5}});
  return m;
}

Batch mix(double grams = 100, quantity::Span error = {}) {
  Batch batch;
  batch.mixed = kMonday + hours(2);
  batch.error = error;
  batch.made.zone = quantity::ZoneId("bench");
  batch.made.part_a = quantity::Grams(grams * 2 / 3);
  batch.made.part_b = quantity::Grams(grams / 3);
  return batch;
}

BatchOutlook told(const Batch& batch, const AirHistory& air, Instant now) {
  const auto outlook = core::batch_outlook(batch, pot_epoxy(), &air, 3.1, now);
  REQUIRE(outlook);
  return *outlook;
}

double hours_after_mixing(const std::optional<Instant>& at) {
  REQUIRE(at);
  return Hours(*at - (kMonday + hours(2))).count();
}

}  // namespace

TEST_CASE("On a stated row, at the test's mass, a mix lasts as long as the sheet says", "[cure]") {
  const AirHistory air = steady_room(kMonday, hours(12), 20);
  const BatchOutlook o = told(mix(), air, kMonday + hours(2) + minutes(30));
  CHECK(hours_after_mixing(o.over.fast) == Approx(1).epsilon(1e-5));
  CHECK(hours_after_mixing(o.over.expected) == Approx(std::sqrt(1.5)).epsilon(1e-5));
  CHECK(hours_after_mixing(o.told_at) == Approx(0.7).epsilon(1e-5));
  CHECK(o.progress.fast == Approx(0.5).epsilon(1e-5));
  CHECK(*o.left_s().fast == Approx(1800).margin(0.5));
  CHECK(*o.left_s().slow >= *o.left_s().expected);
  CHECK(*o.left_s().expected > *o.left_s().fast);
}

TEST_CASE("When it is over nothing is left, and the moment stays where it was", "[cure]") {
  const AirHistory air = steady_room(kMonday, hours(12), 20);
  const BatchOutlook o = told(mix(), air, kMonday + hours(6));
  CHECK(*o.left.fast == quantity::Span(0));
  CHECK(o.progress.fast == 1);
  CHECK(hours_after_mixing(o.over.fast) == Approx(1).epsilon(1e-5));
}

TEST_CASE("The warmer of resin and air counts throughout", "[cure]") {
  const AirHistory air = steady_room(kMonday, hours(12), 20);
  Batch warm = mix(), cold = mix();
  warm.made.resin_temperature = quantity::Celsius(30);
  cold.made.resin_temperature = quantity::Celsius(12);
  const Instant now = kMonday + hours(3);
  CHECK(hours_after_mixing(told(warm, air, now).over.fast) == Approx(0.5).epsilon(1e-5));
  CHECK(told(cold, air, now) == told(mix(), air, now));
}

TEST_CASE("An unsure time of mixing ends the fast clock early and the slow one late", "[cure]") {
  const AirHistory air = steady_room(kMonday, hours(12), 20);
  const Instant now = kMonday + hours(3);
  const BatchOutlook sure = told(mix(), air, now), unsure = told(mix(100, minutes(10)), air, now);
  CHECK(*unsure.over.fast == *sure.over.fast - minutes(10));
  CHECK(*unsure.over.slow == *sure.over.slow + minutes(10));
  CHECK(*unsure.over.expected == *sure.over.expected);
}

TEST_CASE("A silence hurries the fast clock and stops the slow one", "[cure]") {
  const AirHistory full = steady_room(kMonday, hours(12), 20), cut = steady_room(kMonday, hours(2), 20);
  const Instant now = kMonday + hours(3);
  const BatchOutlook heard = told(mix(), full, now), silent = told(mix(), cut, now);
  CHECK(*silent.over.fast < *heard.over.fast);
  CHECK(silent.progress.slow < heard.progress.slow);
  CHECK(silent.basis.count(core::Basis::silence) == 1);
}

TEST_CASE("No time is given for a great mass, an insulated pot, no stated pot life or no air", "[cure]") {
  const AirHistory air = steady_room(kMonday, hours(12), 20);
  const Instant now = kMonday + hours(3);
  Batch insulated = mix();
  insulated.made.pot = core::Pot::insulated;
  CHECK_FALSE(core::batch_outlook(mix(3500), pot_epoxy(), &air, 3.1, now));
  CHECK_FALSE(core::batch_outlook(insulated, pot_epoxy(), &air, 3.1, now));
  CHECK_FALSE(core::batch_outlook(mix(), three_row_epoxy(), &air, 3.1, now));
  CHECK_FALSE(core::batch_outlook(mix(), pot_epoxy(), nullptr, 3.1, now));
  const AirHistory never_heard;
  CHECK_FALSE(core::batch_outlook(mix(), pot_epoxy(), &never_heard, 3.1, now));
  CHECK_FALSE(core::batch_outlook(mix(800), pot_epoxy(), &air, 3.1, now)->caution.empty());
}

}  // namespace setwell::tests
