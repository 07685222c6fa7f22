#include "daemon/core/forecast_room.hpp"

#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/forecast_hours.hpp"
#include "tests/support/rooms.hpp"

/// Rooms that are made up, so that what can be known of them is known.
namespace setwell::tests {

using core::AirQuantity;
using core::HourIndex;
using core::HourValue;
using core::RoomForecaster;
using quantity::Instant;

namespace {

constexpr HourIndex kStart = 500000;
const float kSilent = std::numeric_limits<float>::quiet_NaN();

/// A day's wave of 4 K about 15 degrees, with a weather of its own that wanders.
struct Made {
  std::mt19937 random{7};
  double weather = 0;
  double mean = 15;

  HourValue at(HourIndex hour) {
    weather = 0.97 * weather + 0.25 * std::normal_distribution<double>()(random);
    const double c =
        mean + 4.0 * std::sin(static_cast<double>(hour % 24 - 9) * 2 * 3.14159265 / 24) + weather;
    return {static_cast<float>(c), static_cast<float>(60.0 - 2.0 * (c - mean))};
  }
};

void live(RoomForecaster& room, Made& made, HourIndex from, HourIndex hours) {
  for (HourIndex hour = from; hour < from + hours; ++hour)
    room.take(hour, made.at(hour));
}

core::Forecast issued(const RoomForecaster& room) {
  const auto last = room.series().last();
  const auto forecast = room.forecast(
      core::moment_of(last), {static_cast<float>(room.series().value(AirQuantity::temperature, last)),
                              static_cast<float>(room.series().value(AirQuantity::humidity, last))});
  REQUIRE(forecast);
  return *forecast;
}

double width(const core::ForecastStep& step) {
  return step.air_c.p95 - step.air_c.p5;
}

}  // namespace

TEST_CASE("A room nobody has told of has no forecast", "[forecast]") {
  RoomForecaster room;
  CHECK_FALSE(room.forecast(core::moment_of(kStart), {20, 50}));
  room.take(kStart, {kSilent, kSilent});
  CHECK_FALSE(room.forecast(core::moment_of(kStart), {kSilent, kSilent}));
}

TEST_CASE("From the first hour there is a forecast, with wide bands that are said to be so", "[forecast]") {
  RoomForecaster room;
  room.take(kStart, {18, 55});
  const auto forecast = issued(room);
  CHECK(forecast.basis.wide);
  CHECK(forecast.basis.learned.count() == 1);
  CHECK(forecast.paths.empty());
  REQUIRE(forecast.steps.size() == core::kForecastHours + 1);
  CHECK(forecast.steps[24].air_c.median == Approx(18.0));
  CHECK(width(forecast.steps[24]) >= 5.9);
  CHECK(width(forecast.steps[6]) < width(forecast.steps[48]));
}

TEST_CASE("After three weeks it knows the room's day, and its bands are the room's own", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 21);
  const auto forecast = issued(room);
  CHECK_FALSE(forecast.basis.wide);
  REQUIRE(forecast.basis.skill_6h);
  // Such a weather leaves nothing to beat the best plain guess by, but it must not be lost against it either.
  CHECK(*forecast.basis.skill_6h < 1.1);
  CHECK(forecast.paths.size() > 50);
  double off = 0;
  for (int h = 1; h <= 24; ++h)
    off += std::fabs(forecast.steps[static_cast<std::size_t>(h)].air_c.median -
                     made.at(kStart + 24 * 21 + h - 1).celsius) /
           24;
  // The weather alone wanders by about 1 K; a day's wave not known would cost 2.5 K.
  CHECK(off < 1.6);
}

TEST_CASE("Nine of ten hours lie within the 90 % bands of a steady climate", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 21);
  std::vector<core::Forecast> made_ahead;
  int inside = 0;
  int asked = 0;
  for (HourIndex hour = kStart + 24 * 21; hour < kStart + 24 * 60; ++hour) {
    const auto value = made.at(hour);
    if (made_ahead.size() >= 12) {
      const auto& band = made_ahead[made_ahead.size() - 12].steps[12].air_c;
      inside += value.celsius >= band.p5 && value.celsius <= band.p95 ? 1 : 0;
      ++asked;
    }
    room.take(hour, value);
    made_ahead.push_back(issued(room));
    if (made_ahead.size() > 12) made_ahead.erase(made_ahead.begin());
  }
  // Some 900 overlapping cases of a wandering weather: a few per cent either way are chance.
  CHECK(static_cast<double>(inside) / asked > 0.84);
  CHECK(static_cast<double>(inside) / asked < 0.96);
}

TEST_CASE("A silence leaves the last value standing and widens the bands", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 14);
  const auto before = issued(room);
  const HourIndex last = kStart + 24 * 14 - 1;
  for (int h = 1; h <= 10; ++h)
    room.take(last + h, {kSilent, kSilent});
  const auto after = room.forecast(core::moment_of(last + 10), {kSilent, kSilent});
  REQUIRE(after);
  CHECK(width(after->steps[0]) > 0.5);
  CHECK(width(after->steps[2]) > width(before.steps[2]));
  CHECK(after->basis.learned == before.basis.learned);
}

TEST_CASE("A heater bought in November is believed within days", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 30);
  made.mean = 21;
  live(room, made, kStart + 24 * 30, 24 * 4);
  const auto forecast = issued(room);
  double mean = 0;
  for (int h = 1; h <= 24; ++h)
    mean += forecast.steps[static_cast<std::size_t>(h)].air_c.median / 24;
  CHECK(mean > 18.5);
}

TEST_CASE("What was stored goes on as if it had never stopped", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 16 + 5);
  auto again = RoomForecaster::load(room.save());
  REQUIRE(again);
  Made same = made;
  live(room, made, kStart + 24 * 16 + 5, 30);
  live(*again, same, kStart + 24 * 16 + 5, 30);
  CHECK(room.save() == again->save());
  CHECK(issued(room) == issued(*again));
  CHECK(room.save().size() < 32 * 1024);
}

TEST_CASE("Bytes of another layout, or cut short, are refused", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 50);
  const auto bytes = room.save();
  for (std::size_t cut = 0; cut < bytes.size(); cut += 97)
    CHECK_FALSE(RoomForecaster::load(std::string_view(bytes).substr(0, cut)));
  CHECK_FALSE(RoomForecaster::load(bytes + "x"));
}

TEST_CASE("Within the hour the forecast starts from the air as it is now", "[forecast]") {
  RoomForecaster room;
  Made made;
  live(room, made, kStart, 24 * 14);
  const auto last = room.series().last();
  const auto at = core::moment_of(last) + std::chrono::minutes(30);
  const auto forecast = room.forecast(at, {25.0F, 40.0F});
  REQUIRE(forecast);
  CHECK(forecast->steps.front().air_c.median == Approx(25.0));
  CHECK(forecast->steps.front().at == at);
  const auto usual = issued(room);
  CHECK(std::fabs(forecast->steps[48].air_c.median - usual.steps[48].air_c.median) <
        std::fabs(forecast->steps[1].air_c.median - usual.steps[1].air_c.median));
}

TEST_CASE("Sensors that tell every 10 s and every hour give the same hours of slow air", "[forecast]") {
  const Instant from = core::moment_of(kStart);
  const auto often = room(from, std::chrono::hours(5), std::chrono::seconds(10), wave(15, 2));
  const auto hourly = room(from, std::chrono::hours(5), std::chrono::hours(1), wave(15, 2));
  for (HourIndex hour = kStart + 1; hour <= kStart + 5; ++hour) {
    const auto a = core::hour_value(often.temperature(), often.humidity(), hour);
    const auto b = core::hour_value(hourly.temperature(), hourly.humidity(), hour);
    CHECK(a.celsius == Approx(b.celsius).margin(0.1));
    CHECK(a.percent == Approx(b.percent));
  }
}

TEST_CASE("An hour without a reading is silent", "[forecast]") {
  const Instant from = core::moment_of(kStart);
  const auto air = room(from, std::chrono::hours(1), std::chrono::minutes(5), wave(15, 2));
  CHECK_FALSE(std::isnan(core::hour_value(air.temperature(), air.humidity(), kStart + 1).celsius));
  CHECK(std::isnan(core::hour_value(air.temperature(), air.humidity(), kStart + 3).celsius));
}

TEST_CASE("Humidity foretold stays within 0 and 100 %, and bands lie in order", "[forecast]") {
  RoomForecaster room;
  for (HourIndex hour = kStart; hour < kStart + 24 * 10; ++hour)
    room.take(hour, {static_cast<float>(10 + hour % 24), hour % 24 < 12 ? 100.0F : 97.0F});
  for (const auto& step : issued(room).steps) {
    REQUIRE(step.humidity_pct);
    const auto& band = *step.humidity_pct;
    CHECK(band.p5 >= 0);
    CHECK(band.p95 <= 100);
    CHECK(
        (band.p5 <= band.p25 && band.p25 <= band.median && band.median <= band.p75 && band.p75 <= band.p95));
    REQUIRE(step.vapour_pa);
    CHECK(step.vapour_pa->p5 <= step.vapour_pa->median);
  }
}

TEST_CASE("A room without a hygrometer is foretold without humidity", "[forecast]") {
  RoomForecaster room;
  for (HourIndex hour = kStart; hour < kStart + 24 * 10; ++hour)
    room.take(hour, {static_cast<float>(10 + hour % 24), kSilent});
  const auto forecast = room.forecast(core::moment_of(room.series().last()), {20, kSilent});
  REQUIRE(forecast);
  CHECK_FALSE(forecast->steps[5].humidity_pct);
  REQUIRE_FALSE(forecast->paths.empty());
  CHECK(forecast->paths.front().humidity_pct.empty());
}

}  // namespace setwell::tests
