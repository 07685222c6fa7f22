#include "sensors/quantity/time_zone.hpp"

#include <map>

#include <catch2/catch.hpp>

#include "tests/unit/quantity/berlin.hpp"

using namespace setwell;
using quantity::Instant;
using std::chrono::minutes;

namespace {

Instant at(const char* text) {
  return *quantity::parse_rfc3339(text);
}
quantity::LocalTime local(const char* text) {
  return quantity::parse_civil(text)->local;
}

}  // namespace

TEST_CASE("The offset changes at the moment of the change, not a millisecond before", "[time-zone]") {
  const auto zone = tests::berlin();
  CHECK(zone.offset_at(at("2031-03-30T00:59:59.999Z")) == minutes(60));
  CHECK(zone.offset_at(at("2031-03-30T01:00:00Z")) == minutes(120));
  CHECK(zone.offset_at(at("2031-10-26T00:59:59.999Z")) == minutes(120));
  CHECK(zone.offset_at(at("2031-10-26T01:00:00Z")) == minutes(60));
}

TEST_CASE("Before the first change the first offset holds, after the last one the last", "[time-zone]") {
  const auto zone = tests::berlin();
  CHECK(zone.offset_at(at("1999-07-01T00:00:00Z")) == minutes(60));
  CHECK(zone.offset_at(at("2080-07-01T00:00:00Z")) == minutes(60));
  CHECK(quantity::TimeZone().offset_at(at("2031-07-01T00:00:00Z")) == minutes(0));
}

TEST_CASE("A local time in the repeated hour has two moments, an hour apart", "[time-zone]") {
  const auto moments = tests::berlin().moments_of(local("2031-10-26T02:30:00"));
  REQUIRE(moments.size() == 2);
  CHECK(moments[0] == at("2031-10-26T00:30:00Z"));
  CHECK(moments[1] == at("2031-10-26T01:30:00Z"));
}

TEST_CASE("A local time in the skipped hour has no moment, and earliest_of answers the jump", "[time-zone]") {
  const auto zone = tests::berlin();
  CHECK(zone.moments_of(local("2031-03-30T02:30:00")).empty());
  CHECK(zone.earliest_of(local("2031-03-30T02:30:00")) == at("2031-03-30T01:00:00Z"));
  CHECK(zone.earliest_of(local("2031-10-26T02:30:00")) == at("2031-10-26T00:30:00Z"));
}

TEST_CASE("Any other local time has one moment, and comes back from it", "[time-zone]") {
  const auto zone = tests::berlin();
  for (const char* text : {"2031-03-30T01:59:59", "2031-03-30T03:00:00", "2031-10-26T01:59:59",
                           "2031-10-26T03:00:00", "2031-07-14T12:00:00", "2031-12-31T23:59:59"}) {
    const auto moments = zone.moments_of(local(text));
    REQUIRE(moments.size() == 1);
    CHECK(zone.to_local(moments[0]) == local(text));
  }
}

TEST_CASE("Readings every ten minutes are 144 per 24 hours elapsed, whatever the clock on the wall does",
          "[time-zone]") {
  const auto zone = tests::berlin();
  for (const char* start : {"2031-03-29T12:00:00Z", "2031-10-25T12:00:00Z"}) {
    std::map<quantity::LocalTime, int> shown;
    int count = 0;
    for (Instant t = at(start); t < at(start) + std::chrono::hours(24); t += minutes(10)) {
      ++shown[zone.to_local(t)];
      ++count;
    }
    CHECK(count == 144);
    int repeated = 0;
    for (const auto& [when, times] : shown)
      repeated += times == 2;
    CHECK(repeated == (std::string_view(start).substr(5, 2) == "10" ? 6 : 0));
  }
}
