#include <catch2/catch.hpp>

#include "daemon/toml_text/units.hpp"

namespace {

using namespace setwell;
using namespace setwell::toml_text;

double hours_in(std::string_view text) {
  const auto read = hours(text);
  return read.value ? read.value->count() : -1.0;
}

TEST_CASE("Times are read in seconds, minutes, hours and days", "[figures]") {
  CHECK(hours_in("90 s") == Approx(0.025));
  CHECK(hours_in("30 min") == Approx(0.5));
  CHECK(hours_in("4 h") == 4.0);
  CHECK(hours_in("4h") == 4.0);
  CHECK(hours_in(" 1.5 d ") == 36.0);
}

TEST_CASE("A range may be written with a dash, a long dash or to, with one unit or two", "[figures]") {
  for (const auto* text :
       {"30 min-4 h", "30 min - 4 h", "30 min to 4 h", "0.5-4 h", "0.5 to 4 h", "0.5\u20134 h"}) {
    INFO(text);
    const auto read = bounded_hours(text);
    REQUIRE(read.value);
    CHECK(read.value->bound == Bound::range);
    CHECK(read.value->low.count() == Approx(0.5));
    CHECK(read.value->high.count() == 4.0);
  }
}

TEST_CASE("A bound is kept apart from a figure", "[figures]") {
  CHECK(bounded_hours("at least 4 h").value->bound == Bound::at_least);
  CHECK(bounded_hours("at most 48 h").value->bound == Bound::at_most);
  CHECK(bounded_hours("48 h").value->bound == Bound::exact);
  CHECK(!hours("at most 48 h").value);
}

TEST_CASE("Temperatures are read in both scales, below zero too", "[figures]") {
  CHECK(celsius("23 C").value->degrees() == 23.0);
  CHECK(celsius("23 °C").value->degrees() == 23.0);
  CHECK(celsius("73.4 F").value->degrees() == Approx(23.0));
  CHECK(celsius("-5 C").value->degrees() == -5.0);
  CHECK(bounded_celsius("-5 to 10 C").value->low.degrees() == -5.0);
  CHECK(bounded_celsius("-10--5 C").value->high.degrees() == -5.0);
}

TEST_CASE("Thickness, mass, density and area are read in the units of the trade", "[figures]") {
  CHECK(film("4 mil").value->value() == Approx(101.6));
  CHECK(film("3 mm").value->value() == 3000.0);
  CHECK(mass("1 oz").value->value() == Approx(28.3495).epsilon(1e-5));
  CHECK(density("1.1 kg/l").value->value() == 1.1);
  CHECK(area("70 in2").value->value() == Approx(451.6).epsilon(1e-3));
}

TEST_CASE("Nothing is read that is no figure with its unit", "[figures]") {
  for (const auto* text :
       {"",      " ",     "4",       "h",   "4 x",  "4 h 30 min", "4 h!",  "1e3 h",    "nan h",
        "inf h", "0x4 h", "4,5 h",   "4-6", "-",    "- 4 h",      "4 h-",  "at least", "at least h",
        "+4 h",  "4 H",   "1e999 h", "0 h", "-1 h", "about 4 h",  "4 to h"}) {
    INFO(text);
    const auto read = bounded_hours(text);
    CHECK(!read.value);
    CHECK(!read.wrong.what.empty());
    CHECK(!read.wrong.right.empty());
  }
}

TEST_CASE("A humidity over 100 % and a temperature below absolute zero are refused", "[figures]") {
  CHECK(humidity("100 %").value);
  CHECK(!humidity("100.1 %").value);
  CHECK(celsius("-273 C").value);
  CHECK(!celsius("-273.15 C").value);
  CHECK(!celsius("-460 F").value);
}

TEST_CASE("A difference of temperatures is read in kelvin alone", "[figures]") {
  CHECK(kelvin("3 K").value->kelvin() == 3.0);
  CHECK(kelvin("-0.3 K").value->kelvin() == -0.3);
  CHECK(!kelvin("5 F").value);
  CHECK(!kelvin("3 C").value);
}

}  // namespace
