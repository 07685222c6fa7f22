#include "daemon/core/waking.hpp"

#include <random>

#include <catch2/catch.hpp>

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

namespace {

TimeZone zone() {
  return {
      "Europe/Somewhere",
      60min,
      {{*parse_rfc3339("2031-03-30T01:00:00Z"), 120min}, {*parse_rfc3339("2031-10-26T01:00:00Z"), 60min}}};
}

Instant at(const char* text) {
  return *parse_rfc3339(text);
}

const WakingHours kDay{7h, 22h, {}};

}  // namespace

TEST_CASE("the night's part of a window is not usable", "[waking]") {
  const auto part =
      usable_part(kDay, zone(), at("2031-03-04T03:00:00+01:00"), at("2031-03-04T09:00:00+01:00"), 30min);
  CHECK(part == TimeStretch{at("2031-03-04T07:00:00+01:00"), at("2031-03-04T09:00:00+01:00")});
}

TEST_CASE("a window that opens at 3 and closes at 7 is a window the maker does not have", "[waking]") {
  CHECK_FALSE(
      usable_part(kDay, zone(), at("2031-03-04T03:00:00+01:00"), at("2031-03-04T07:00:00+01:00"), 1min));
}

TEST_CASE("a part too short for the work is passed over for the next", "[waking]") {
  const auto part =
      usable_part(kDay, zone(), at("2031-03-04T21:45:00+01:00"), at("2031-03-05T12:00:00+01:00"), 30min);
  CHECK(part == TimeStretch{at("2031-03-05T07:00:00+01:00"), at("2031-03-05T12:00:00+01:00")});
}

TEST_CASE("a window without an end ends with the waking day", "[waking]") {
  const auto part = usable_part(kDay, zone(), at("2031-03-04T12:00:00+01:00"), {}, 30min);
  CHECK(part == TimeStretch{at("2031-03-04T12:00:00+01:00"), at("2031-03-04T22:00:00+01:00")});
}

TEST_CASE("days off have no waking hours", "[waking]") {
  const WakingHours weekdays{7h, 22h, {0, 6}};
  const Instant saturday = at("2031-03-08T12:00:00+01:00");
  CHECK_FALSE(is_waking(weekdays, zone(), saturday));
  CHECK(next_waking(weekdays, zone(), saturday) == at("2031-03-10T07:00:00+01:00"));
  CHECK_FALSE(next_waking(WakingHours{7h, 22h, {0, 1, 2, 3, 4, 5, 6}}, zone(), saturday));
}

TEST_CASE("hours over midnight belong to the day they begin on", "[waking]") {
  const WakingHours late{18h, 2h, {0}};
  CHECK(is_waking(late, zone(), at("2031-03-09T01:00:00+01:00")));        // Saturday's
  CHECK_FALSE(is_waking(late, zone(), at("2031-03-09T19:00:00+01:00")));  // Sunday is off
  CHECK_FALSE(is_waking(late, zone(), at("2031-03-10T01:00:00+01:00")));
}

TEST_CASE("waking begins by the wall clock on both sides of a change", "[waking]") {
  CHECK(next_waking(kDay, zone(), at("2031-03-29T23:00:00+01:00")) == at("2031-03-30T07:00:00+02:00"));
  CHECK(next_waking(kDay, zone(), at("2031-10-25T23:00:00+02:00")) == at("2031-10-26T07:00:00+01:00"));
  CHECK(next_waking(WakingHours{150min, 22h, {}}, zone(), at("2031-03-30T00:30:00+01:00")) ==
        at("2031-03-30T03:00:00+02:00"));  // 02:30 was jumped over
}

TEST_CASE("whole days join into one stretch", "[waking]") {
  const WakingHours always{0h, 0h, {}};
  const Instant from = at("2031-03-29T12:00:00+01:00");
  const Instant until = at("2031-04-02T12:00:00+02:00");
  CHECK(usable_part(always, zone(), from, until, 24h) == TimeStretch{from, until});
}

TEST_CASE("the end of the waking stretch is known only inside one", "[waking]") {
  CHECK(waking_ends(kDay, zone(), at("2031-03-04T12:00:00+01:00")) == at("2031-03-04T22:00:00+01:00"));
  CHECK_FALSE(waking_ends(kDay, zone(), at("2031-03-04T22:00:00+01:00")));
  CHECK_FALSE(is_waking(kDay, zone(), at("2031-03-04T22:00:00+01:00")));
  CHECK(is_waking(kDay, zone(), at("2031-03-04T07:00:00+01:00")));
}

TEST_CASE("quiet hours hold until morning, and alike ends mean none", "[waking]") {
  const QuietHours night{22h, 7h};
  CHECK(quiet_ends(night, zone(), at("2031-03-04T23:00:00+01:00")) == at("2031-03-05T07:00:00+01:00"));
  CHECK(quiet_ends(night, zone(), at("2031-03-05T03:00:00+01:00")) == at("2031-03-05T07:00:00+01:00"));
  CHECK_FALSE(is_quiet(night, zone(), at("2031-03-05T07:00:00+01:00")));
  CHECK_FALSE(is_quiet(QuietHours{7h, 7h}, zone(), at("2031-03-05T07:00:00+01:00")));
  CHECK(is_quiet(QuietHours{13h, 14h}, zone(), at("2031-03-05T13:30:00+01:00")));
}

TEST_CASE("every moment of a usable part is waking and inside the window", "[waking]") {
  std::mt19937 random(3);
  const auto pick = [&](unsigned most) { return static_cast<int>(random() % most); };
  int found = 0;
  for (int round = 0; round < 500; ++round) {
    const WakingHours hours{
        std::chrono::minutes(pick(1440)), std::chrono::minutes(pick(1440)), {static_cast<unsigned>(pick(7))}};
    const Instant from = at("2031-03-28T00:00:00Z") + std::chrono::minutes(pick(6 * 1440));
    const Instant until = from + std::chrono::minutes(pick(3000));
    const Span least = std::chrono::minutes(pick(240) + 1);
    const auto part = usable_part(hours, zone(), from, until, least);
    if (!part) continue;
    ++found;
    REQUIRE(part->from >= from);
    REQUIRE(part->until <= until);
    REQUIRE(part->until - part->from >= least);
    for (int step = 0; step < 20; ++step) {
      REQUIRE(is_waking(hours, zone(), part->from + (part->until - part->from) / 20 * step));
    }
  }
  CHECK(found > 100);
}
