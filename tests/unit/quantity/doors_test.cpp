#include <limits>
#include <set>
#include <string>

#include <catch2/catch.hpp>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/refusal.hpp"
#include "sensors/quantity/relative_humidity.hpp"

using namespace setwell::quantity;

namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();

}  // namespace

TEST_CASE("No temperature comes in that is not one", "[quantity]") {
  for (const double wrong : {kNan, kInf, -kInf, -273.15, -300.0, 10000.0}) {
    CHECK_FALSE(Celsius::from(wrong));
    CHECK_THROWS_AS(Celsius(wrong), std::domain_error);
  }
  CHECK(Celsius::from(-273.14));
  CHECK(Celsius::from(9999.9));
}

TEST_CASE("Fahrenheit is converted once, there and back", "[quantity]") {
  CHECK(Celsius::from_fahrenheit(70.7)->degrees() == Approx(21.5).margin(1e-12));
  CHECK(Celsius::from_fahrenheit(-40.0)->degrees() == Approx(-40.0).margin(1e-12));
  CHECK(Celsius(21.5).fahrenheit() == Approx(70.7).margin(1e-12));
  CHECK(Celsius(0.0).kelvin() == 273.15);
  CHECK_FALSE(Celsius::from_fahrenheit(-460.0));
}

TEST_CASE("Temperatures subtract to differences, and differences add to temperatures", "[quantity]") {
  CHECK((Celsius(21.5) - Celsius(20.0)).kelvin() == 1.5);
  CHECK(Celsius(20.0) + CelsiusDelta(1.5) == Celsius(21.5));
  CHECK(Celsius(20.0) - CelsiusDelta(1.5) == Celsius(18.5));
  CHECK((-CelsiusDelta(1.5)).kelvin() == -1.5);
  CHECK_THROWS_AS(CelsiusDelta(kNan), std::domain_error);
}

TEST_CASE("Humidity is kept a little over 100 % and counted as saturation", "[quantity]") {
  for (const double wrong : {kNan, -0.1, 105.1, kInf}) {
    CHECK_FALSE(RelativeHumidity::from_percent(wrong));
    CHECK_THROWS_AS(RelativeHumidity::percent(wrong), std::domain_error);
  }
  CHECK(RelativeHumidity::percent(100.7).in_percent() == 100.7);
  CHECK(RelativeHumidity::percent(100.7).for_air() == 1.0);
  CHECK(RelativeHumidity::percent(48.2).for_air() == Approx(0.482).margin(1e-12));
}

TEST_CASE("An amount is positive", "[quantity]") {
  for (const double wrong : {0.0, -1.0, kNan, kInf})
    CHECK_FALSE(Grams::from(wrong));
  CHECK(Micrometres::from(0.5)->value() == 0.5);
}

TEST_CASE("Every refusal and quality has a word of its own", "[quantity]") {
  std::set<std::string> words;
  for (int i = 0; i <= static_cast<int>(Refusal::unmapped); ++i) {
    words.insert(std::string(word(static_cast<Refusal>(i))));
  }
  CHECK(words.size() == 15);
  std::set<std::string> qualities;
  for (int i = 0; i <= static_cast<int>(Quality::good); ++i) {
    qualities.insert(std::string(word(static_cast<Quality>(i))));
  }
  CHECK(qualities.size() == 5);
}

TEST_CASE("Names and numbers compare and hash by what they hold", "[quantity]") {
  CHECK(ZoneId("bench") == ZoneId("bench"));
  CHECK(ZoneId("bench") < ZoneId("rack"));
  CHECK(std::hash<ZoneId>{}(ZoneId("bench")) == std::hash<std::string>{}("bench"));
  CHECK(EntryId(3) < EntryId(4));
  CHECK(EntryId().value() == 0);
}
