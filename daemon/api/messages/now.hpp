#pragma once

#include "daemon/api/messages/common.hpp"

namespace setwell::api {

struct ZoneNow {
  std::string zone;
  std::optional<double> air_c;
  std::optional<double> humidity_pct;
  std::optional<double> dew_point_c;
  std::optional<double> age_s;
  bool trusted = false;
};
BOOST_DESCRIBE_STRUCT(ZoneNow, (), (zone, air_c, humidity_pct, dew_point_c, age_s, trusted))

struct ClockNow {
  double progress = 0;
  std::optional<std::string> at;
};
BOOST_DESCRIBE_STRUCT(ClockNow, (), (progress, at))

struct MilestoneNow {
  std::string name;
  std::optional<std::string> top;  ///< for the milestones of a recoat rule: what would go on
  ClockNow slow;
  ClockNow expected;
  ClockNow fast;
  std::vector<std::string> basis;
  std::string not_known;  ///< why there is no time; empty as a rule
};
BOOST_DESCRIBE_STRUCT(MilestoneNow, (), (name, top, slow, expected, fast, basis, not_known))

struct RecoatNow {
  std::string top;
  std::optional<std::string> test_from;
  std::optional<std::string> from;
  std::optional<std::string> until;
  std::optional<std::string> last_start;
  std::optional<std::string> usable_from;
  std::optional<std::string> usable_until;
  std::string else_ = "sand-first";
  bool sure = true;
  bool by_touch = false;
};
BOOST_DESCRIBE_STRUCT(RecoatNow, (),
                      (top, test_from, from, until, last_start, usable_from, usable_until, else_, sure,
                       by_touch))

struct OutsideNow {
  std::string what;
  double value = 0;
  double limit = 0;
  std::string unit;
  std::string since;
  std::optional<std::string> until;  ///< when it was last outside; null while it still is
  bool next_coat = false;            ///< the present air, for what is to go on next
};
BOOST_DESCRIBE_STRUCT(OutsideNow, (), (what, value, limit, unit, since, until, next_coat))

struct TroubleNow {
  std::string kind;
  std::optional<double> chance;
  std::string at;
};
BOOST_DESCRIBE_STRUCT(TroubleNow, (), (kind, chance, at))

struct SilentStretch {
  std::string from;
  std::string until;
};
BOOST_DESCRIBE_STRUCT(SilentStretch, (), (from, until))

/// Stretches without readings, and what they do to the window: its times beside those that the likeliest air
/// would have given. Null where either is not within reach.
struct SilencesNow {
  std::vector<SilentStretch> stretches;
  std::optional<double> narrower_s;
  std::optional<double> opens_later_s;
  std::optional<double> closes_earlier_s;
};
BOOST_DESCRIBE_STRUCT(SilencesNow, (), (stretches, narrower_s, opens_later_s, closes_earlier_s))

struct PieceNow {
  std::string piece;
  std::optional<int> coat;
  std::optional<std::string> sheet;
  std::optional<std::string> zone;
  std::optional<std::string> place;  ///< of the zone's; null where nobody said
  std::optional<std::string> verdict;
  std::string next;
  std::string remark;
  bool recomputing = false;
  std::vector<MilestoneNow> milestones;
  std::vector<RecoatNow> recoat;
  std::vector<OutsideNow> outside_limits;
  std::vector<OutsideNow> outside_advised;
  std::vector<TroubleNow> trouble;
  std::optional<std::string> due;
  std::optional<double> surface_c;
  std::optional<double> dew_margin_k;
  std::optional<double> dew_margin_error_k;
  std::optional<SilencesNow> silences;  ///< null where the air was heard all along
  std::optional<double> blush_dose;     ///< of an amine epoxy, until tack-free; 0 … 1, an index
  std::optional<double> condensing_s;   ///< how long moisture lay on it before it was tack-free
};
BOOST_DESCRIBE_STRUCT(PieceNow, (),
                      (piece, coat, sheet, zone, place, verdict, next, remark, recomputing, milestones,
                       recoat, outside_limits, outside_advised, trouble, due, surface_c, dew_margin_k,
                       dew_margin_error_k, silences, blush_dose, condensing_s))

struct BatchNow {
  std::string batch;
  std::string sheet;
  std::string zone;
  std::string mixed;
  double part_a_g = 0;
  double part_b_g = 0;
  std::string ratio;  ///< ok, off, cannot-tell, unstated
  std::string remark;
  bool open = false;  ///< the fast clock has not ended its pot life
  SpanTriple left_s;  ///< all null where no time is given
};
BOOST_DESCRIBE_STRUCT(BatchNow, (),
                      (batch, sheet, zone, mixed, part_a_g, part_b_g, ratio, remark, open, left_s))

struct DeliveryNow {
  std::string route;
  std::string state;  ///< waiting, sent, failed
  int attempts = 0;
};
BOOST_DESCRIBE_STRUCT(DeliveryNow, (), (route, state, attempts))

struct NoticeNow {
  std::int64_t notice = 0;
  std::string kind;
  std::optional<std::string> piece;
  std::string at;
  std::string title;  ///< first line
  std::string text;   ///< the rest
  bool seen = false;
  std::vector<DeliveryNow> deliveries;
};
BOOST_DESCRIBE_STRUCT(NoticeNow, (), (notice, kind, piece, at, title, text, seen, deliveries))

struct NowAnswer {
  int version = 1;
  std::string time;
  bool rehearsal = false;
  std::vector<ZoneNow> zones;
  std::vector<PieceNow> pieces;
  std::vector<BatchNow> batches;
  std::vector<NoticeNow> notices;
  std::string ahead;  ///< what future times rest on, in words
  DisplayWish display;
};
BOOST_DESCRIBE_STRUCT(NowAnswer, (),
                      (version, time, rehearsal, zones, pieces, batches, notices, ahead, display))

}  // namespace setwell::api
