#pragma once

#include "daemon/api/messages/now.hpp"

/// Requests that add entries. `pieces` holds ids, ranges (`fern-01..06`) and unique prefixes; all of a
/// request is logged or nothing of it.
namespace setwell::api {

/// What was logged, in figures and in words.
struct LoggedAnswer {
  int version = 1;
  bool rehearsal = false;
  std::vector<LoggedEntry> logged;
  std::vector<std::string> said;      ///< sentences for the maker
  std::vector<std::string> cautions;  ///< shown where the act needs them
  std::vector<PieceNow> pieces;       ///< as they stand now
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(LoggedAnswer, (), (version, rehearsal, logged, said, cautions, pieces, display))

struct PieceNewParams {
  std::vector<std::string> pieces;
  std::string form;
  std::optional<std::string> schedule;
  std::optional<std::string> due;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(PieceNewParams, (), (pieces, form, schedule, due, at))

/// `what` is a sheet, a batch, or `@`; a piece may carry its grams as `fern-07=12.5`.
struct CoatParams {
  std::string what;
  std::vector<std::string> pieces;
  std::optional<std::string> zone;
  std::optional<std::string> at;
  std::optional<double> film_um;
  std::optional<int> passes;
  std::optional<std::string> load;
  std::optional<std::string> piece_from;
  std::optional<std::string> resin_temperature;
  std::optional<std::string> lot;
  std::optional<double> lamp_min;
};
BOOST_DESCRIBE_STRUCT(CoatParams, (),
                      (what, pieces, zone, at, film_um, passes, load, piece_from, resin_temperature, lot,
                       lamp_min))

struct StepParams {
  std::string step;
  std::vector<std::string> pieces;
  std::optional<std::string> with;
  std::optional<std::string> kind;
  std::optional<std::string> sheet;
  std::optional<std::string> text;
  std::optional<std::string> at;
  bool unwashed = false;  ///< answers the question for `sanded` without `washed`
};
BOOST_DESCRIBE_STRUCT(StepParams, (), (step, pieces, with, kind, sheet, text, at, unwashed))

/// `pieces` may hold one batch instead: its witness was touched.
struct TouchParams {
  std::string touch;
  std::vector<std::string> pieces;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(TouchParams, (), (touch, pieces, at))

struct MixedParams {
  std::string sheet;
  double part_a_g = 0;
  double part_b_g = 0;
  std::optional<std::string> zone;
  std::optional<std::string> resin_temperature;
  std::optional<std::string> pot;
  std::optional<std::string> lot_a;
  std::optional<std::string> lot_b;
  std::optional<double> stirred_min;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(MixedParams, (),
                      (sheet, part_a_g, part_b_g, zone, resin_temperature, pot, lot_a, lot_b, stirred_min,
                       at))

struct OpenedParams {
  std::string sheet;
  std::optional<std::string> part;
  std::string lot;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(OpenedParams, (), (sheet, part, lot, at))

struct MoveParams {
  std::vector<std::string> pieces;
  std::string zone;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(MoveParams, (), (pieces, zone, at))

struct RotatorParams {
  std::string zone;
  std::string state;  ///< stopped or running
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(RotatorParams, (), (zone, state, at))

/// `what` is a zone (air, rh) or a piece (surface).
struct ReadParams {
  std::string what;
  std::optional<std::string> air;
  std::optional<double> humidity_pct;
  std::optional<std::string> surface;
  std::optional<double> error_k;
  std::optional<double> error_pct;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(ReadParams, (), (what, air, humidity_pct, surface, error_k, error_pct, at))

struct EndParams {
  std::vector<std::string> pieces;
  bool anyway = false;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(EndParams, (), (pieces, anyway, at))

/// One of both at least.
struct AmendParams {
  std::int64_t entry = 0;
  std::optional<std::string> at;
  std::optional<double> lamp_min;  ///< of a light-cured coat, in all
};
BOOST_DESCRIBE_STRUCT(AmendParams, (), (entry, at, lamp_min))

struct UndoParams {
  std::int64_t entry = 0;
};
BOOST_DESCRIBE_STRUCT(UndoParams, (), (entry))

struct SeenParams {
  std::int64_t notice = 0;
};
BOOST_DESCRIBE_STRUCT(SeenParams, (), (notice))

}  // namespace setwell::api
