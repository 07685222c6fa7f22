#include "sensors/quantity/instant.hpp"

#include <string>

#include <catch2/catch.hpp>

using namespace setwell;
using quantity::parse_civil;
using quantity::parse_rfc3339;
using std::chrono::minutes;

TEST_CASE("A moment is written in UTC and read back the same", "[instant]") {
  for (const std::int64_t ms : {std::int64_t{0}, std::int64_t{1930384740500}, std::int64_t{-1},
                                std::int64_t{1930384740000}, std::int64_t{4102444799999}}) {
    const auto text = quantity::rfc3339_utc(quantity::instant_from_ms(ms));
    const auto back = parse_rfc3339(text);
    REQUIRE(back);
    CHECK(quantity::to_ms(*back) == ms);
  }
}

TEST_CASE("Milliseconds are written only where there are any", "[instant]") {
  CHECK(quantity::rfc3339_utc(quantity::instant_from_ms(1930384740500)) == "2031-03-04T09:59:00.500Z");
  CHECK(quantity::rfc3339_utc(quantity::instant_from_ms(1930384740000)) == "2031-03-04T09:59:00Z");
}

TEST_CASE("An offset is written with its sign, also west of Greenwich and by half hours", "[instant]") {
  const auto at = quantity::instant_from_ms(1930384740000);
  CHECK(quantity::rfc3339(at, minutes(120)) == "2031-03-04T11:59:00+02:00");
  CHECK(quantity::rfc3339(at, minutes(-210)) == "2031-03-04T06:29:00-03:30");
}

TEST_CASE("Both spellings of an offset, Z, a space and fractions name one moment", "[instant]") {
  const auto at = quantity::instant_from_ms(1930384740500);
  for (const char* text :
       {"2031-03-04T11:59:00.5+02:00", "2031-03-04T11:59:00.500+0200", "2031-03-04 09:59:00.500999Z",
        "2031-03-04t09:59:00.5z", "2031-03-04T05:29:00.5-04:30"}) {
    INFO(text);
    CHECK(parse_rfc3339(text) == at);
  }
}

TEST_CASE("Impossible dates, clocks and leftovers are no time", "[instant]") {
  for (const char* text : {"", "x", "2031-02-29T00:00:00Z", "2031-13-01T00:00:00Z", "2031-03-04T24:00:00Z",
                           "2031-03-04T10:60:00Z", "2031-03-04T10:00:60Z", "2031-03-04T10:00:00Zx",
                           "2031-03-04T10:00:00+25:00", "2031-03-04T10:00:00.Z", "2031-3-4T10:00:00Z",
                           "-031-03-04T10:00:00Z", "2031-03-04", "2031-03-04T10:00:00+1:00"}) {
    INFO(text);
    CHECK_FALSE(parse_civil(text));
  }
}

TEST_CASE("RFC 3339 demands an offset; a civil time says whether there was one", "[instant]") {
  CHECK_FALSE(parse_rfc3339("2031-03-04T10:00:00"));
  CHECK_FALSE(parse_civil("2031-03-04T10:00:00")->offset);
  CHECK(parse_civil("2031-03-04T10:00Z")->offset == minutes(0));
}
