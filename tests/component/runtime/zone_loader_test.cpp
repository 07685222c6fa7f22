#include "daemon/runtime/zone_loader.hpp"

#include <cstdlib>
#include <ctime>
#include <fstream>
#include <string>

#include <catch2/catch.hpp>

#include "daemon/runtime/tzif.hpp"
#include "daemon/runtime/zone_rule.hpp"

namespace {

using namespace setwell;
using quantity::Instant;

const Instant kNow = *quantity::parse_rfc3339("2031-03-01T00:00:00Z");

int offset_minutes(std::string_view zone, std::string_view at) {
  const auto loaded = runtime::load_zone(zone, kNow);
  REQUIRE(loaded.has_value());
  return static_cast<int>(loaded->offset_at(*quantity::parse_rfc3339(at)).count());
}

/// What the C library says; it reads the same files by its own code.
int libc_offset_minutes(const std::string& zone, Instant at) {
  ::setenv("TZ", zone.c_str(), 1);
  ::tzset();
  const std::time_t seconds = quantity::to_ms(at) / 1000;
  std::tm parts{};
  ::localtime_r(&seconds, &parts);
  ::unsetenv("TZ");
  return static_cast<int>(parts.tm_gmtoff / 60);
}

TEST_CASE("A zone changes at the moments its rule says", "[zone]") {
  CHECK(offset_minutes("Europe/Berlin", "2031-03-30T00:59:59Z") == 60);
  CHECK(offset_minutes("Europe/Berlin", "2031-03-30T01:00:00Z") == 120);
  CHECK(offset_minutes("Europe/Berlin", "2031-10-26T00:59:59Z") == 120);
  CHECK(offset_minutes("Europe/Berlin", "2031-10-26T01:00:00Z") == 60);
  CHECK(offset_minutes("America/New_York", "2031-03-09T06:59:59Z") == -300);
  CHECK(offset_minutes("America/New_York", "2031-03-09T07:00:00Z") == -240);
  CHECK(offset_minutes("Australia/Lord_Howe", "2031-04-05T14:59:59Z") == 660);
  CHECK(offset_minutes("Australia/Lord_Howe", "2031-04-05T15:00:00Z") == 630);
  CHECK(offset_minutes("Australia/Lord_Howe", "2031-10-04T15:30:00Z") == 660);
  CHECK(offset_minutes("Asia/Kolkata", "2031-07-15T12:00:00Z") == 330);
}

TEST_CASE("A zone agrees with the C library for forty years ahead and back to 1971", "[zone]") {
  for (const std::string zone : {"Europe/Berlin", "Europe/Dublin", "America/New_York", "America/Sao_Paulo",
                                 "Australia/Lord_Howe", "Asia/Kolkata", "Africa/Casablanca", "Asia/Tehran",
                                 "Pacific/Apia", "Antarctica/Troll", "Etc/GMT+5"}) {
    const auto loaded = runtime::load_zone(zone, kNow);
    REQUIRE(loaded.has_value());
    int differing = 0;
    const auto until = kNow + std::chrono::years(40);
    for (Instant at = *quantity::parse_rfc3339("1971-01-01T00:30:00Z"); at < until;
         at += std::chrono::hours(61)) {
      if (loaded->offset_at(at).count() != libc_offset_minutes(zone, at)) ++differing;
    }
    INFO(zone);
    CHECK(differing == 0);
  }
}

TEST_CASE("UTC needs no file", "[zone]") {
  ::setenv("TZDIR", "/nowhere", 1);
  const auto utc = runtime::load_zone("UTC", kNow);
  const auto other = runtime::load_zone("Europe/Berlin", kNow);
  ::unsetenv("TZDIR");
  REQUIRE(utc.has_value());
  CHECK(utc->offset_at(kNow).count() == 0);
  CHECK_FALSE(other.has_value());
}

TEST_CASE("A name that leaves the folder, or names no zone file, is nothing", "[zone]") {
  for (const auto* name :
       {"", "/etc/passwd", "../zoneinfo/UTC", "Europe/../UTC", "Europe", "Europe/", "Mars/Base",
        "Europe//Berlin", "zone.tab", "tzdata.zi", "Europe/Berlin\n", "./UTC"}) {
    INFO(name);
    CHECK_FALSE(runtime::load_zone(name, kNow).has_value());
  }
}

TEST_CASE("A zone file cut short anywhere, or not one at all, is nothing", "[zone]") {
  std::ifstream real("/usr/share/zoneinfo/Europe/Berlin", std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(real)), std::istreambuf_iterator<char>());
  REQUIRE(runtime::parse_tzif("Cut", bytes, kNow).has_value());
  int read = 0;
  for (std::size_t size = 0; size < bytes.size(); ++size) {
    if (runtime::parse_tzif("Cut", std::string_view(bytes).substr(0, size), kNow)) ++read;
  }
  CHECK(read == 0);
  CHECK_FALSE(runtime::parse_tzif("Noise", std::string(4000, 'x'), kNow).has_value());
}

TEST_CASE("A zone file that is changed anywhere never leads outside its bytes", "[zone]") {
  std::ifstream real("/usr/share/zoneinfo/Europe/Berlin", std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(real)), std::istreambuf_iterator<char>());
  int read = 0;
  for (std::size_t place = 0; place < bytes.size(); ++place) {
    auto changed = bytes;
    changed[place] = static_cast<char>(0xff);
    if (runtime::parse_tzif("Changed", changed, kNow)) ++read;
  }
  // Every byte of a change's time or of a name may be anything; a count or a type may not.
  CHECK(read > 0);
  CHECK(read < static_cast<int>(bytes.size()));
}

TEST_CASE("A rule text that is not whole is nothing", "[zone]") {
  for (const auto* text : {"", "CE", "CET", "CET-1CEST", "CET-1CEST,M3.5.0", "CET-1CEST,M13.5.0,M10.5.0",
                           "CET-1CEST,M3.6.0,M10.5.0", "CET-1CEST,M3.5.0,M10.5.0,", "CET-99", "<+03-3"}) {
    INFO(text);
    CHECK_FALSE(runtime::parse_zone_rule(text).has_value());
  }
}

TEST_CASE("A rule may count days with and without the leap day", "[zone]") {
  const auto rule = runtime::parse_zone_rule("AAA3BBB,J60/0,59/0:30");
  REQUIRE(rule.has_value());
  using namespace std::chrono;
  CHECK(rule->standard == -hours(3));
  CHECK(rule->daylight->offset == -hours(2));
  CHECK(rule->daylight->begins.in(2032y) == local_days(2032y / March / 1));
  CHECK(rule->daylight->begins.in(2031y) == local_days(2031y / March / 1));
  CHECK(rule->daylight->ends.in(2032y) == local_days(2032y / February / 29) + minutes(30));
}

}  // namespace
