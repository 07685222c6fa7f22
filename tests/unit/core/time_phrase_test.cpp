#include "daemon/core/time_phrase.hpp"

#include <string>

#include <catch2/catch.hpp>

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

namespace {

/// A zone an hour ahead of UTC, two in summer: forward on 30 March 2031 at 02:00, back on 26 October at
/// 03:00.
TimeZone zone() {
  return {
      "Europe/Somewhere",
      60min,
      {{*parse_rfc3339("2031-03-30T01:00:00Z"), 120min}, {*parse_rfc3339("2031-10-26T01:00:00Z"), 60min}}};
}

Instant at(const char* text) {
  return *parse_rfc3339(text);
}

/// Tuesday, 14:00 by the wall.
const Instant kNow = at("2031-03-04T14:00:00+01:00");

Result<TimePhrase> done(const char* text, Instant now = kNow) {
  return read_time(text, now, zone(), Ahead::refused);
}
Result<TimePhrase> planned(const char* text, Instant now = kNow) {
  return read_time(text, now, zone(), Ahead::allowed);
}

TimePhrase moment_of(const char* text, Span error) {
  return {at(text), at(text), error};
}

void reads(const char* text, const char* when, Span error) {
  const auto phrase = done(text);
  INFO(text << (phrase ? std::string() : phrase.error().detail));
  REQUIRE(phrase.has_value());
  CHECK(*phrase == moment_of(when, error));
}

std::string why_not(const Result<TimePhrase>& phrase) {
  return phrase ? "(it was read)" : phrase.error().detail;
}

}  // namespace

TEST_CASE("times are read as people say them", "[time]") {
  reads("", "2031-03-04T14:00:00+01:00", 1min);
  reads("now", "2031-03-04T14:00:00+01:00", 1min);
  reads("20m", "2031-03-04T13:40:00+01:00", 5min);
  reads("2h", "2031-03-04T12:00:00+01:00", 5min);
  reads("1h30m", "2031-03-04T12:30:00+01:00", 5min);
  reads("1h 30m ago", "2031-03-04T12:30:00+01:00", 5min);
  reads("13:30", "2031-03-04T13:30:00+01:00", 5min);
  reads("7:05", "2031-03-04T07:05:00+01:00", 5min);
  reads("1:30pm", "2031-03-04T13:30:00+01:00", 5min);
  reads("1:30 PM", "2031-03-04T13:30:00+01:00", 5min);
  reads("9am", "2031-03-04T09:00:00+01:00", 5min);
  reads("12am", "2031-03-04T00:00:00+01:00", 5min);
  reads("12:15pm", "2031-03-04T12:15:00+01:00", 5min);
  reads("~13:30", "2031-03-04T13:30:00+01:00", 15min);
  reads("~ 20m", "2031-03-04T13:40:00+01:00", 15min);
  reads("today 7:00", "2031-03-04T07:00:00+01:00", 5min);
  reads("yesterday 21:00", "2031-03-03T21:00:00+01:00", 30min);
  reads("~yesterday 21:00", "2031-03-03T21:00:00+01:00", 30min);
  reads("yesterday 9pm", "2031-03-03T21:00:00+01:00", 30min);
  reads("2031-03-02 21:00", "2031-03-02T21:00:00+01:00", 30min);
  reads("2031-03-02 9:15pm", "2031-03-02T21:15:00+01:00", 30min);
  reads("2031-03-04 10:00", "2031-03-04T10:00:00+01:00", 5min);
  reads("2031-03-04T09:59:00Z", "2031-03-04T09:59:00Z", 5min);
  reads("2031-03-04T09:59:00+03:00", "2031-03-04T06:59:00Z", 5min);
}

TEST_CASE("two times around dots are a stretch", "[time]") {
  CHECK(*done("12:00..13:00") ==
        TimePhrase{at("2031-03-04T12:00:00+01:00"), at("2031-03-04T13:00:00+01:00"), 5min});
  CHECK(*done("2h..1h") == TimePhrase{kNow - 2h, kNow - 1h, 5min});
  CHECK(*done("1h..now") == TimePhrase{kNow - 1h, kNow, 5min});
  CHECK(*done("yesterday 21:00..22:00") ==
        TimePhrase{at("2031-03-03T21:00:00+01:00"), at("2031-03-03T22:00:00+01:00"), 30min});
  CHECK(*done("~12:00..13:00") ==
        TimePhrase{at("2031-03-04T12:00:00+01:00"), at("2031-03-04T13:00:00+01:00"), 15min});
}

TEST_CASE("a stretch over midnight begins on the day before", "[time]") {
  CHECK(*done("23:00..01:00") ==
        TimePhrase{at("2031-03-03T23:00:00+01:00"), at("2031-03-04T01:00:00+01:00"), 5min});
}

TEST_CASE("a stretch may not run backwards, lack an end or end ahead of now", "[time]") {
  CHECK(why_not(done("1h..2h")).find("before it begins") != std::string::npos);
  CHECK(why_not(done("12:00..")).find("both ends") != std::string::npos);
  CHECK(done("13:30..15:00").error().kind == ErrorKind::refused);
}

TEST_CASE("a bare time ahead of now is refused with both readings, and both are then taken", "[time]") {
  const auto phrase = done("14:30");
  REQUIRE_FALSE(phrase.has_value());
  CHECK(phrase.error().kind == ErrorKind::refused);
  CHECK(phrase.error().detail == "14:30 has not come yet today: say 'yesterday 14:30' or 'today 14:30'");
  CHECK(*done("yesterday 14:30") == moment_of("2031-03-03T14:30:00+01:00", 30min));
  CHECK(*done("today 14:30") == moment_of("2031-03-04T14:30:00+01:00", 5min));
}

TEST_CASE("a wall clock a minute ahead of ours is taken as now", "[time]") {
  CHECK(*done("14:01") == TimePhrase{kNow, kNow, 5min});
  CHECK_FALSE(done("14:03").has_value());
}

TEST_CASE("for a plan, times ahead are taken", "[time]") {
  CHECK(*planned("14:30") == moment_of("2031-03-04T14:30:00+01:00", 5min));
  CHECK(*planned("tomorrow 7:00") == moment_of("2031-03-05T07:00:00+01:00", 5min));
  CHECK(*planned("22:00..01:00") ==
        TimePhrase{at("2031-03-04T22:00:00+01:00"), at("2031-03-05T01:00:00+01:00"), 5min});
  CHECK(planned("2031-03-20 21:00").has_value());
  CHECK(done("tomorrow 7:00").error().kind == ErrorKind::refused);
  CHECK(done("2031-03-20 21:00").error().kind == ErrorKind::refused);
}

TEST_CASE("times no clock shows are refused in words", "[time]") {
  for (const char* text : {"25:00", "14:60", "13:30pm", "0:30am", "yesterday 24:00", "2031-03-02 25:00"}) {
    INFO(text);
    CHECK(why_not(done(text)).find("no clock shows") != std::string::npos);
  }
}

TEST_CASE("what is no time at all says how to say one", "[time]") {
  for (const char* text : {"soon", "14", "14:3", "-20m", "20", "m20", "20m2h", "1e3m", "yesterday",
                           "2031-02-30 21:00", "14:30 o'clock", "nan", "..", "20 m x"}) {
    const auto phrase = done(text);
    INFO(text);
    REQUIRE_FALSE(phrase.has_value());
    CHECK(phrase.error().kind == ErrorKind::invalid);
    CHECK(phrase.error().detail.size() > 20);
  }
}

TEST_CASE("a time in the hour the clock jumped over did not exist", "[time]") {
  const Instant noon = at("2031-03-30T12:00:00+02:00");
  CHECK(why_not(done("2:30", noon)).find("put forward") != std::string::npos);
  CHECK(*done("3:30", noon) == moment_of("2031-03-30T03:30:00+02:00", 5min));
  CHECK(*done("1:30", noon) == moment_of("2031-03-30T01:30:00+01:00", 5min));
}

TEST_CASE("a time in a repeated hour is asked for with both readings, and both are then taken", "[time]") {
  const Instant noon = at("2031-10-26T12:00:00+01:00");
  const std::string why = why_not(done("2:30", noon));
  CHECK(why.find("2031-10-26T02:30:00+02:00") != std::string::npos);
  CHECK(why.find("2031-10-26T02:30:00+01:00") != std::string::npos);
  CHECK(*done("2031-10-26T02:30:00+02:00", noon) == moment_of("2031-10-26T02:30:00+02:00", 5min));
}

TEST_CASE("in the first round of a repeated hour the second has not come and does not count", "[time]") {
  CHECK(*done("2:30", at("2031-10-26T02:40:00+02:00")) == moment_of("2031-10-26T02:30:00+02:00", 5min));
}

TEST_CASE("yesterday is a day of the wall clock, also over a change of the clock", "[time]") {
  CHECK(*done("yesterday 21:00", at("2031-03-30T08:00:00+02:00")) ==
        moment_of("2031-03-29T21:00:00+01:00", 30min));
}

TEST_CASE("lengths of time are read", "[time]") {
  CHECK(*read_duration("20m") == 20min);
  CHECK(*read_duration("20min") == 20min);
  CHECK(*read_duration("1h30m") == 90min);
  CHECK(*read_duration("1.5h") == 90min);
  CHECK(*read_duration("90s") == 90s);
  CHECK(*read_duration("2d 3h") == 51h);
  CHECK(*read_duration("0m") == 0min);
  for (const char* text : {"", "h", "20", "20x", "30m1h", "1h1h", "-1h", "1e9h", "400d", "1.2.3h", "inf h"}) {
    INFO(text);
    CHECK_FALSE(read_duration(text).has_value());
  }
}
