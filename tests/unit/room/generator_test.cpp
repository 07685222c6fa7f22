#include "sensors/room/generator.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include <catch2/catch.hpp>

#include "sensors/air/saturation.hpp"
#include "sensors/room/random.hpp"

using namespace setwell;
using namespace setwell::room;
using namespace std::chrono_literals;

namespace {

const quantity::Instant kBegin = std::chrono::sys_days(std::chrono::year(2031) / 1 / 6);

RoomSpec spec(Season season, Heating heating, int days = 14, std::uint64_t seed = 1) {
  return {seed, season, heating, kBegin, kBegin + days * 24h, 5min};
}

double mean_temperature(const std::vector<RoomAir>& rows, int from_hour, int to_hour) {
  double sum = 0.0;
  int count = 0;
  for (const auto& row : rows) {
    const auto hour = std::chrono::floor<std::chrono::hours>(row.at.time_since_epoch()).count() % 24;
    if (hour < from_hour || hour >= to_hour) continue;
    sum += row.temperature.degrees();
    ++count;
  }
  return sum / count;
}

double vapour(const RoomAir& row) {
  return air::vapour_pa(row.temperature.degrees(), row.humidity.in_percent());
}

}  // namespace

TEST_CASE("the same specification gives the same room and another seed another one", "[room]") {
  const auto first = generate(spec(Season::winter, Heating::none));
  const auto again = generate(spec(Season::winter, Heating::none));
  const auto other = generate(spec(Season::winter, Heating::none, 14, 2));
  REQUIRE(first.size() == 14 * 288);
  REQUIRE(other.size() == first.size());
  int equal = 0;
  for (std::size_t i = 0; i < first.size(); ++i) {
    CHECK(first[i].temperature == again[i].temperature);
    CHECK(first[i].humidity == again[i].humidity);
    equal += first[i].temperature == other[i].temperature;
  }
  CHECK(equal < 5);
}

TEST_CASE("rows stand at every step from begin to before the end", "[room]") {
  const auto rows = generate({1, Season::summer, Heating::none, kBegin, kBegin + 1h, 10min});
  REQUIRE(rows.size() == 6);
  for (std::size_t i = 0; i < rows.size(); ++i)
    CHECK(rows[i].at == kBegin + 10min * static_cast<int>(i));
  CHECK(generate({1, Season::summer, Heating::none, kBegin, kBegin, 10min}).empty());
  CHECK(generate({1, Season::summer, Heating::none, kBegin, kBegin + 1h, 0min}).empty());
}

TEST_CASE("an unheated room is warmest in the afternoon and evening and follows the season", "[room]") {
  for (const std::uint64_t seed : {1, 2, 3, 4, 5}) {
    INFO("seed " << seed);
    const auto summer = generate(spec(Season::summer, Heating::none, 28, seed));
    const auto winter = generate(spec(Season::winter, Heating::none, 28, seed));
    CHECK(mean_temperature(summer, 16, 22) > mean_temperature(summer, 4, 10) + 1.5);
    CHECK(mean_temperature(winter, 16, 22) > mean_temperature(winter, 4, 10) + 0.5);
    CHECK(mean_temperature(summer, 0, 24) > 15.0);
    CHECK(mean_temperature(winter, 0, 24) < 12.0);
  }
}

TEST_CASE("a heated room keeps its set-point and one set back is colder by night", "[room]") {
  for (const std::uint64_t seed : {1, 2, 3, 4, 5}) {
    INFO("seed " << seed);
    const auto steady = generate(spec(Season::winter, Heating::steady, 28, seed));
    CHECK(mean_temperature(steady, 0, 24) == Approx(20.0).margin(0.4));
    const auto back = generate(spec(Season::winter, Heating::night_set_back, 28, seed));
    CHECK(mean_temperature(back, 10, 20) == Approx(20.0).margin(0.6));
    CHECK(mean_temperature(back, 2, 6) < 18.0);
    CHECK(mean_temperature(back, 2, 6) > 12.0);
  }
}

TEST_CASE("air is physically possible and moves no faster than air does", "[room]") {
  for (const auto season : {Season::winter, Season::summer})
    for (const auto heating : {Heating::none, Heating::steady, Heating::night_set_back}) {
      const auto rows = generate(spec(season, heating, 60, 7));
      int jumps = 0;
      int vapour_jumps = 0;
      for (std::size_t i = 0; i < rows.size(); ++i) {
        CHECK(rows[i].temperature.degrees() > -20.0);
        CHECK(rows[i].temperature.degrees() < 45.0);
        CHECK(rows[i].humidity.in_percent() >= 5.0);
        CHECK(rows[i].humidity.in_percent() <= 98.0);
        if (i == 0) continue;
        jumps += std::abs((rows[i].temperature - rows[i - 1].temperature).kelvin()) > 1.5;
        vapour_jumps += std::abs(std::log(vapour(rows[i]) / vapour(rows[i - 1]))) > 0.15;
      }
      CHECK(jumps == 0);
      CHECK(vapour_jumps == 0);
    }
}

TEST_CASE("heating a room dries its air", "[room]") {
  const auto cold = generate(spec(Season::winter, Heating::none, 28));
  const auto warm = generate(spec(Season::winter, Heating::steady, 28));
  double cold_sum = 0.0;
  double warm_sum = 0.0;
  for (std::size_t i = 0; i < cold.size(); ++i) {
    cold_sum += cold[i].humidity.in_percent();
    warm_sum += warm[i].humidity.in_percent();
  }
  CHECK(warm_sum < cold_sum * 0.75);
}

TEST_CASE("random numbers are those of the published generator", "[room]") {
  // The first outputs of splitmix64 for state 0.
  Random random(0);
  CHECK(random.next() == 0xe220a8397b1dcdafU);
  CHECK(random.next() == 0x6e789e6aa1b965f4U);
  double sum = 0.0;
  double squares = 0.0;
  for (int i = 0; i < 100000; ++i) {
    const double value = random.normal();
    sum += value;
    squares += value * value;
  }
  // Four standard errors: 0.0127 for the mean, 0.018 for the variance.
  CHECK(std::abs(sum / 100000) < 0.0127);
  CHECK(squares / 100000 == Approx(1.0).margin(0.018));
}
