#pragma once

#include "daemon/api/messages/now.hpp"

/// Requests that change nothing.
namespace setwell::api {

struct PieceParams {
  std::string piece;
};
BOOST_DESCRIBE_STRUCT(PieceParams, (), (piece))

struct EntryNow {
  std::int64_t entry = 0;
  std::string kind;
  std::optional<std::string> piece;
  std::string said;
  std::string happened;
  double error_s = 0;
  bool struck = false;
  std::string text;  ///< the entry as one line in the trade's words
};
BOOST_DESCRIBE_STRUCT(EntryNow, (), (entry, kind, piece, said, happened, error_s, struck, text))

struct EntriesAnswer {
  int version = 1;
  std::vector<EntryNow> entries;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(EntriesAnswer, (), (version, entries, display))

struct PieceShowAnswer {
  int version = 1;
  bool rehearsal = false;
  std::string form;
  std::optional<std::string> schedule;
  std::optional<std::string> ended;  ///< shipped or scrapped
  PieceNow now;
  std::vector<PieceNow> coats;  ///< every coat, oldest first
  std::vector<EntryNow> entries;
  std::string ahead;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(PieceShowAnswer, (),
                      (version, rehearsal, form, schedule, ended, now, coats, entries, ahead, display))

struct PiecesParams {
  bool all = false;
};
BOOST_DESCRIBE_STRUCT(PiecesParams, (), (all))

struct PieceLine {
  std::string piece;
  std::string form;
  std::optional<std::string> schedule;
  std::optional<std::string> due;
  std::string begun;
  int coats = 0;
  std::optional<std::string> zone;
  std::optional<std::string> verdict;
  std::optional<std::string> ended;
};
BOOST_DESCRIBE_STRUCT(PieceLine, (), (piece, form, schedule, due, begun, coats, zone, verdict, ended))

struct PiecesAnswer {
  int version = 1;
  std::vector<PieceLine> pieces;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(PiecesAnswer, (), (version, pieces, display))

struct BatchesAnswer {
  int version = 1;
  std::vector<BatchNow> batches;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(BatchesAnswer, (), (version, batches, display))

struct AirParams {
  std::optional<std::string> zone;
};
BOOST_DESCRIBE_STRUCT(AirParams, (), (zone))

struct AirHour {
  std::string from;
  std::optional<double> least_c;
  std::optional<double> most_c;
  std::optional<double> mean_c;
  std::optional<double> mean_pct;
  std::optional<double> dew_margin_k;  ///< of the air itself, from the means
  bool silent = false;                 ///< some of it was a silence
};
BOOST_DESCRIBE_STRUCT(AirHour, (), (from, least_c, most_c, mean_c, mean_pct, dew_margin_k, silent))

/// Half of all cases lie between p25 and p75, nine in ten between p5 and p95.
struct BandNow {
  double p5 = 0;
  double p25 = 0;
  double median = 0;
  double p75 = 0;
  double p95 = 0;
};
BOOST_DESCRIBE_STRUCT(BandNow, (), (p5, p25, median, p75, p95))

struct ForecastStepNow {
  std::string at;
  BandNow air_c;
  std::optional<BandNow> humidity_pct;
  std::optional<BandNow> vapour_pa;
  /// Of the air itself, both quantities taken together; null while the forecast is too new to tell.
  std::optional<BandNow> dew_margin_k;
};
BOOST_DESCRIBE_STRUCT(ForecastStepNow, (), (at, air_c, humidity_pct, vapour_pa, dew_margin_k))

struct ForecastNow {
  std::string issued;
  std::string learning_since;
  double learned_h = 0;            ///< hours of trusted readings
  bool wide = true;                ///< general bands: too few errors of its own yet
  std::string method;              ///< heated, naive, blend
  std::optional<double> skill_6h;  ///< error over that of the best plain guess, 14 days
  std::optional<double> skill_24h;
  std::vector<ForecastStepNow> steps;  ///< from the issue on, every hour
};
BOOST_DESCRIBE_STRUCT(ForecastNow, (),
                      (issued, learning_since, learned_h, wide, method, skill_6h, skill_24h, steps))

/// A bound that holds now for coats in the zone: their cure floor, or a limit of their sheet.
struct AirLimit {
  std::string what;
  double value = 0;
  std::string unit;  ///< `degC`, `%`, `K`
  std::vector<std::string> pieces;
};
BOOST_DESCRIBE_STRUCT(AirLimit, (), (what, value, unit, pieces))

struct AirStretch {
  std::string from;
  std::string until;
};
BOOST_DESCRIBE_STRUCT(AirStretch, (), (from, until))

struct AirZone {
  ZoneNow now;
  std::optional<double> dew_margin_error_k;
  std::vector<AirHour> last_day;
  std::string ahead;  ///< what the time to come rests on
  std::optional<ForecastNow> forecast;
  std::vector<AirLimit> limits;
  std::vector<AirStretch> nights;  ///< outside waking hours, from the first hour of `last_day` on
};
BOOST_DESCRIBE_STRUCT(AirZone, (), (now, dew_margin_error_k, last_day, ahead, forecast, limits, nights))

struct AirAnswer {
  int version = 1;
  bool rehearsal = false;
  std::string time;
  std::vector<AirZone> zones;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(AirAnswer, (), (version, rehearsal, time, zones, display))

struct ReasonCount {
  std::string reason;
  std::int64_t count = 0;
};
BOOST_DESCRIBE_STRUCT(ReasonCount, (), (reason, count))

struct SensorNow {
  std::string channel;
  std::string zone;
  std::string quantity;
  std::string topic;
  std::optional<std::string> last_message;
  std::optional<std::string> last_good;
  std::optional<std::string> last_change;
  std::optional<double> value;
  std::optional<int> qos;
  bool silent = false;
  bool stuck = false;
  std::int64_t readings = 0;
  std::vector<ReasonCount> refused;
  std::string advice;  ///< the next thing to do, empty when all is well
};
BOOST_DESCRIBE_STRUCT(SensorNow, (),
                      (channel, zone, quantity, topic, last_message, last_good, last_change, value, qos,
                       silent, stuck, readings, refused, advice))

struct SensorsAnswer {
  int version = 1;
  std::vector<SensorNow> sensors;
  std::vector<ReasonCount> unmapped;  ///< topics that match no channel, with their counts
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(SensorsAnswer, (), (version, sensors, unmapped, display))

struct NoticesParams {
  bool all = false;
};
BOOST_DESCRIBE_STRUCT(NoticesParams, (), (all))

struct NoticesAnswer {
  int version = 1;
  std::vector<NoticeNow> notices;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(NoticesAnswer, (), (version, notices, display))

struct NoticeTestParams {
  std::string route;
  std::optional<std::string> id;  ///< of an earlier test: what became of it; without it a new one is sent
};
BOOST_DESCRIBE_STRUCT(NoticeTestParams, (), (route, id))

struct NoticeTestAnswer {
  int version = 1;
  std::string route;
  std::string id;
  std::string state;  ///< waiting, sent, given-up, dropped
  int attempts = 0;
  std::string error;  ///< of the last attempt that failed; empty when none did
};
BOOST_DESCRIBE_STRUCT(NoticeTestAnswer, (), (version, route, id, state, attempts, error))

struct SheetLine {
  std::string sheet;
  std::string name;
  std::string family;
  std::string document;
  std::string edition;
  bool in_use = false;              ///< by a piece in progress
  std::vector<std::string> faults;  ///< of the file as it is now; the last good edition stays in force
};
BOOST_DESCRIBE_STRUCT(SheetLine, (), (sheet, name, family, document, edition, in_use, faults))

struct SheetsAnswer {
  int version = 1;
  std::vector<SheetLine> sheets;
};
BOOST_DESCRIBE_STRUCT(SheetsAnswer, (), (version, sheets))

struct SheetParams {
  std::string sheet;
};
BOOST_DESCRIBE_STRUCT(SheetParams, (), (sheet))

/// One figure of a sheet with where it stands there.
struct SheetFigure {
  std::string what;
  std::string value;
  std::string where;
};
BOOST_DESCRIBE_STRUCT(SheetFigure, (), (what, value, where))

/// What the shop's own touch tests say of one milestone, and what follows from it.
struct LearnedNow {
  std::string name;                ///< the milestone's word
  std::optional<std::string> top;  ///< for the milestones of a recoat rule: what would go on
  int pieces = 0;
  int tests = 0;
  int sooner = 0;                ///< tests that found it reached before the sheet's time
  int later = 0;                 ///< tests that found it not reached after the sheet's time
  std::optional<double> factor;  ///< of the sheet's time; null below three pieces
  std::string text;
  std::string acts;
};
BOOST_DESCRIBE_STRUCT(LearnedNow, (), (name, top, pieces, tests, sooner, later, factor, text, acts))

struct SheetShowAnswer {
  int version = 1;
  SheetLine sheet;
  std::string date;
  std::vector<SheetFigure> figures;
  std::vector<std::string> cautions;
  std::vector<std::string> warnings;  ///< contradictions and oddities, reported and not smoothed
  std::vector<LearnedNow> learned;
};
BOOST_DESCRIBE_STRUCT(SheetShowAnswer, (), (version, sheet, date, figures, cautions, warnings, learned))

struct ScheduleLine {
  std::string schedule;
  std::string name;
  std::vector<std::string> items;
};
BOOST_DESCRIBE_STRUCT(ScheduleLine, (), (schedule, name, items))

struct SchedulesAnswer {
  int version = 1;
  std::vector<ScheduleLine> schedules;
};
BOOST_DESCRIBE_STRUCT(SchedulesAnswer, (), (version, schedules))

struct HistoryParams {
  std::string zone;
  std::optional<std::string> from;
  std::optional<std::string> to;
  std::optional<std::string> after;  ///< next page: the time of the last row of the one before
};
BOOST_DESCRIBE_STRUCT(HistoryParams, (), (zone, from, to, after))

struct HistoryRow {
  std::string time;
  std::optional<double> temperature_c;
  std::optional<double> humidity_pct;
};
BOOST_DESCRIBE_STRUCT(HistoryRow, (), (time, temperature_c, humidity_pct))

struct HistoryAnswer {
  int version = 1;
  std::string zone;
  std::vector<HistoryRow> rows;
  std::optional<std::string> more_after;  ///< ask again from here; null at the end
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(HistoryAnswer, (), (version, zone, rows, more_after, display))

struct BackupParams {
  std::string file;
};
BOOST_DESCRIBE_STRUCT(BackupParams, (), (file))

struct BackupAnswer {
  int version = 1;
  std::string file;
  std::int64_t bytes = 0;
  std::int64_t entries = 0;
  std::int64_t readings = 0;
};
BOOST_DESCRIBE_STRUCT(BackupAnswer, (), (version, file, bytes, entries, readings))

struct StatusLine {
  std::string part;  ///< daemon, broker, sensors, database, disk, sheets, route …
  bool ok = true;
  std::string state;
  std::string advice;  ///< the next thing to do, empty when all is well
};
BOOST_DESCRIBE_STRUCT(StatusLine, (), (part, ok, state, advice))

struct StatusAnswer {
  int version = 1;
  std::string time;
  bool rehearsal = false;
  std::string program;
  bool ok = true;
  std::vector<StatusLine> lines;
  std::int64_t taken = 0;    ///< inbox rows taken so far
  std::int64_t waiting = 0;  ///< inbox rows not yet taken
  bool subscribed = false;   ///< the broker has confirmed every subscription of this connection
};
BOOST_DESCRIBE_STRUCT(StatusAnswer, (),
                      (version, time, rehearsal, program, ok, lines, taken, waiting, subscribed))

}  // namespace setwell::api
