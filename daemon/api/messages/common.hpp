#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <boost/describe.hpp>

/// What goes over the wire, one described struct per request and answer. Members are named as their JSON keys
/// are (units in the name); a key that is a C++ keyword ends in an underscore here: `else_` is `else`. Times
/// are RFC 3339 with the workshop's offset, durations seconds. Keys are added, never renamed.
///
/// What a person types (times, temperatures, ranges of pieces) travels as typed and is read by the daemon, so
/// that it means the same from every door and in rehearsal.
namespace setwell::api {

struct NoParams {};
BOOST_DESCRIBE_STRUCT(NoParams, (), ())

/// How people want to see figures.
struct DisplayWish {
  std::string temperature = "C";  ///< C or F
  std::string clock = "24h";      ///< 24h or 12h
  std::string zone = "UTC";
};
BOOST_DESCRIBE_STRUCT(DisplayWish, (), (temperature, clock, zone))

/// Three clocks' worth of seconds.
struct SpanTriple {
  std::optional<double> slow;
  std::optional<double> expected;
  std::optional<double> fast;
};
BOOST_DESCRIBE_STRUCT(SpanTriple, (), (slow, expected, fast))

/// One entry that was added (or struck).
struct LoggedEntry {
  std::int64_t entry = 0;
  std::string kind;
  std::optional<std::string> piece;
  std::optional<int> coat;
  std::string at;
  double error_s = 0;
};
BOOST_DESCRIBE_STRUCT(LoggedEntry, (), (entry, kind, piece, coat, at, error_s))

}  // namespace setwell::api
