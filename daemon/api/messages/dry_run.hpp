#pragma once

#include "daemon/api/messages/now.hpp"

/// `coat --dry-run`: asks with CoatParams, logs nothing.
namespace setwell::api {

/// One start that might be made.
struct StartNow {
  std::string at;
  bool fits = false;    ///< nothing speaks against it
  std::string against;  ///< what does, the weightiest first; empty where it fits
  std::optional<double> air_c;
  std::optional<double> dew_margin_k;
  /// The next window of the coat it would make; null where its sheet gives none.
  std::optional<RecoatNow> window;
  /// That the coat is overtaken before it is tack-free; null where the forecast cannot tell.
  std::optional<double> chance;
  double usable_s = 0;  ///< how much of the window falls into waking hours at one stretch
};
BOOST_DESCRIBE_STRUCT(StartNow, (), (at, fits, against, air_c, dew_margin_k, window, chance, usable_s))

struct TriedPiece {
  std::string piece;
  int coat = 1;  ///< the number it would have
  std::string sheet;
  std::string zone;
  std::string advice;            ///< go, wait
  std::string why;               ///< one sentence
  std::optional<StartNow> best;  ///< the best of `starts` that fit; null where none does
  std::vector<StartNow> starts;  ///< the one asked about first, then hour by hour for 48 h
};
BOOST_DESCRIBE_STRUCT(TriedPiece, (), (piece, coat, sheet, zone, advice, why, best, starts))

struct DryRunAnswer {
  int version = 1;
  bool rehearsal = false;
  std::string time;
  std::vector<TriedPiece> pieces;
  std::vector<std::string> said;
  std::vector<std::string> cautions;
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(DryRunAnswer, (), (version, rehearsal, time, pieces, said, cautions, display))

}  // namespace setwell::api
