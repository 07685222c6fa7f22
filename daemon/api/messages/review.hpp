#pragma once

#include "daemon/api/messages/common.hpp"

/// Looking back over a coat that went wrong, what shares something with it, and the records out.
namespace setwell::api {

struct DefectParams {
  std::string piece;
  std::vector<std::string> signs;
  std::optional<int> coat;
  std::optional<std::string> where;
  std::optional<std::string> photo;
  std::vector<std::string> saw;  ///< observations, noted beside it
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(DefectParams, (), (piece, signs, coat, where, photo, saw, at))

struct ReviewParams {
  std::string piece;
  std::optional<int> coat;
  std::vector<std::string> signs;  ///< in place of those logged
};
BOOST_DESCRIBE_STRUCT(ReviewParams, (), (piece, coat, signs))

struct ReviewFact {
  std::string topic;
  std::string text;
};
BOOST_DESCRIBE_STRUCT(ReviewFact, (), (topic, text))

struct ReviewPhase {
  int coat = 0;
  std::string phase;
  std::string from;
  std::string to;
  bool reached = false;  ///< its milestone, by the expected clock
  double silent_s = 0;
  std::optional<double> air_least_c, air_most_c, surface_least_c, surface_most_c;
  std::optional<double> humidity_least_pct, humidity_most_pct, dew_margin_least_k;
};
BOOST_DESCRIBE_STRUCT(ReviewPhase, (),
                      (coat, phase, from, to, reached, silent_s, air_least_c, air_most_c, surface_least_c,
                       surface_most_c, humidity_least_pct, humidity_most_pct, dew_margin_least_k))

/// A bound of the sheet and how long it was passed.
struct ReviewBound {
  int coat = 0;
  std::string what;
  std::string unit;  ///< degC, %, K
  double bound = 0;
  bool limit = false;  ///< else advised
  std::string from;
  std::string to;
  double outside_s = 0;
  double worst = 0;
};
BOOST_DESCRIBE_STRUCT(ReviewBound, (), (coat, what, unit, bound, limit, from, to, outside_s, worst))

struct ReviewCause {
  std::string cause;
  std::string meaning;
  int level = 1;
  bool weather = false;
  std::vector<std::string> for_;
  std::vector<std::string> against;
  std::vector<std::string> missing;
  std::vector<std::string> remedies;
};
BOOST_DESCRIBE_STRUCT(ReviewCause, (), (cause, meaning, level, weather, for_, against, missing, remedies))

/// A moment of the record for a chart; a silence has no values.
struct ReviewPoint {
  std::string at;
  std::optional<double> air_c, surface_c, surface_low_c, surface_high_c, dew_point_c, humidity_pct;
};
BOOST_DESCRIBE_STRUCT(ReviewPoint, (),
                      (at, air_c, surface_c, surface_low_c, surface_high_c, dew_point_c, humidity_pct))

struct ReviewLane {
  std::string name;
  std::string maybe_from, from, to, maybe_to;
};
BOOST_DESCRIBE_STRUCT(ReviewLane, (), (name, maybe_from, from, to, maybe_to))

struct ReviewEvent {
  std::string at;
  std::string text;
};
BOOST_DESCRIBE_STRUCT(ReviewEvent, (), (at, text))

struct ReviewAnswer {
  int version = 1;
  std::string time;  ///< up to when the record is looked at
  bool rehearsal = false;
  std::string title;  ///< of an account from a file
  std::string piece;
  int coat = 0;
  std::string sheet;
  std::vector<std::string> signs;
  std::vector<std::string> where;
  std::vector<std::string> photos;
  std::string summary;
  bool settled = false;
  std::string weather;              ///< cleared, suspect, unknown
  std::string next_test;            ///< empty: none would tell more
  std::vector<std::string> absent;  ///< what is missing from the record, in sentences
  std::vector<ReviewFact> facts;
  std::vector<ReviewPhase> phases;
  std::vector<ReviewBound> bounds;
  std::vector<ReviewCause> causes;
  std::vector<std::string> cautions;
  std::string from;  ///< of the chart
  std::string to;
  std::vector<ReviewPoint> course;
  std::vector<ReviewLane> lanes;
  std::vector<ReviewEvent> events;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(ReviewAnswer, (),
                      (version, time, rehearsal, title, piece, coat, sheet, signs, where, photos, summary,
                       settled, weather, next_test, absent, facts, phases, bounds, causes, cautions, from, to,
                       course, lanes, events, display))

/// Exactly one of the three.
struct TraceParams {
  std::optional<std::string> batch;
  std::optional<std::string> lot;
  std::optional<std::string> sheet;
};
BOOST_DESCRIBE_STRUCT(TraceParams, (), (batch, lot, sheet))

struct TraceRow {
  std::string piece;
  int coat = 0;
  std::string sheet;
  std::string edition;
  std::optional<std::string> batch;
  std::vector<std::string> lots;
  std::string zone;
  std::string made;
  std::string night;    ///< the local date on which the night after it began
  std::string outcome;  ///< well, went-wrong, not-known
  std::vector<std::string> signs;
  bool shares = true;  ///< false: only lay in the same zone on the same night as one that shares it
};
BOOST_DESCRIBE_STRUCT(TraceRow, (),
                      (piece, coat, sheet, edition, batch, lots, zone, made, night, outcome, signs, shares))

struct TraceAnswer {
  int version = 1;
  std::string what;
  std::vector<TraceRow> rows;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(TraceAnswer, (), (version, what, rows, display))

/// One table of the records, a page at a time.
struct ExportParams {
  std::string table;
  std::int64_t after = 0;  ///< the row number where the page begins
};
BOOST_DESCRIBE_STRUCT(ExportParams, (), (table, after))

struct ExportAnswer {
  int version = 1;
  std::vector<std::string> tables;  ///< all there are
  std::string table;
  std::vector<std::string> columns;
  std::vector<std::vector<std::string>> rows;
  std::optional<std::int64_t> more_after;
};
BOOST_DESCRIBE_STRUCT(ExportAnswer, (), (version, tables, table, columns, rows, more_after))

}  // namespace setwell::api
