#include "daemon/core/unfit_air.hpp"

#include <chrono>

#include <catch2/catch.hpp>

#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// The present air beside the limits of what goes on next.
namespace setwell::tests {

using core::Outlook;
using core::OutsideCondition;
using quantity::CelsiusDelta;
using quantity::Instant;
using quantity::RelativeHumidity;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

core::Material picky() {
  core::Material m = three_row_epoxy();
  m.application.limit.temperature = {quantity::Celsius(15), quantity::Celsius(30)};
  m.application.limit.humidity = {RelativeHumidity::percent(30), RelativeHumidity::percent(80)};
  return m;
}

std::vector<OutsideCondition> unfit(const core::Material& top, const core::AirHistory& air, Instant now,
                                    const Outlook& piece = {}) {
  return core::unfit_air(top, air, piece, kMonday, now);
}

/// 20 °C and 50 % for six hours, then as said.
core::AirHistory turned(double celsius, double percent) {
  core::AirHistory air;
  for (int m = 0; m <= 24 * 60; m += 5) {
    const bool before = m < 6 * 60;
    air.put_temperature({kMonday + minutes(m), before ? 20.0 : celsius, 0.5});
    air.put_humidity({kMonday + minutes(m), before ? 50.0 : percent, 5});
  }
  return air;
}

}  // namespace

TEST_CASE("air outside a limit of the next coat is told with value, limit and since when", "[cure]") {
  const auto cold = turned(12, 50);
  CHECK(unfit(picky(), cold, kMonday + hours(5)).empty());
  const auto found = unfit(picky(), cold, kMonday + hours(8));
  REQUIRE(found.size() == 1);
  CHECK(found[0].what == "air below the limit for the next coat");
  CHECK(found[0].value == 12);
  CHECK(found[0].limit == 15);
  CHECK(found[0].since == kMonday + hours(6));
  CHECK(found[0].is_limit);
  CHECK(found[0].next_coat);
  CHECK(unfit(picky(), turned(31, 50), kMonday + hours(8)).at(0).what ==
        "air above the limit for the next coat");
}

TEST_CASE("humidity forbids the next coat both ways", "[cure]") {
  CHECK(unfit(picky(), turned(20, 85), kMonday + hours(8)).at(0).what ==
        "humidity above the limit for the next coat");
  CHECK(unfit(picky(), turned(20, 25), kMonday + hours(8)).at(0).what ==
        "humidity below the limit for the next coat");
  CHECK(unfit(picky(), turned(20, 60), kMonday + hours(8)).empty());
}

TEST_CASE("what is only advised, or asked for warning, forbids nothing", "[cure]") {
  core::Material m = three_row_epoxy();
  m.application.advised.temperature = {quantity::Celsius(18), quantity::Celsius(25)};
  m.apply_least = quantity::Celsius(18);
  CHECK(unfit(m, turned(12, 95), kMonday + hours(8)).empty());
}

TEST_CASE("a dew margin of the next coat is that of the piece's surface, less its error", "[cure]") {
  core::Material m = three_row_epoxy();
  m.application.limit.dew_margin = CelsiusDelta(3);
  const auto air = turned(20, 60);  // a margin of 8 K in the air itself
  CHECK(unfit(m, air, kMonday + hours(8)).empty());
  Outlook cold_cup;
  cold_cup.dew_margin_k = 4;
  cold_cup.dew_margin_error_k = 1.4;
  const auto found = unfit(m, air, kMonday + hours(8), cold_cup);
  REQUIRE(found.size() == 1);
  CHECK(found[0].what == "dew margin below the limit for the next coat");
  CHECK(found[0].value == Approx(2.6));
  CHECK(found[0].since == kMonday + hours(8));
  CHECK(unfit(m, turned(20, 85), kMonday + hours(8)).size() == 1);  // of the air, where no clock knows it
}

TEST_CASE("the limits of the cure that would begin count too, the stricter of two alike", "[cure]") {
  core::Material m = picky();
  m.cure.limit.temperature.least = quantity::Celsius(17);
  const auto found = unfit(m, turned(12, 50), kMonday + hours(8));
  REQUIRE(found.size() == 1);
  CHECK(found[0].limit == 17);
  CHECK(unfit(m, turned(16, 50), kMonday + hours(8)).at(0).limit == 17);
}

TEST_CASE("air that nobody hears forbids nothing, and a silence ends the looking back", "[cure]") {
  auto air = turned(12, 50);
  CHECK(unfit(picky(), air, kMonday + hours(26)).empty());
  for (int m = 7 * 60; m < 9 * 60; m += 5)
    air.drop_temperature(kMonday + minutes(m));
  CHECK(unfit(picky(), air, kMonday + hours(10)).at(0).since == kMonday + hours(9));
}

TEST_CASE("the air is said in the workshop's own unit", "[cure]") {
  const auto found = unfit(picky(), turned(12, 85), kMonday + hours(8));
  const core::Display display{core::Units::fahrenheit, core::ClockStyle::h24,
                              quantity::TimeZone("UTC", minutes(0), {})};
  CHECK(core::unfit_words(found, display) ==
        "air below the limit for the next coat: 53.6 °F, the sheet's limit is 59.0 °F; "
        "humidity above the limit for the next coat: 85 %, the sheet's limit is 80 %");
  CHECK(core::unfit_words({}, display).empty());
}

}  // namespace setwell::tests
