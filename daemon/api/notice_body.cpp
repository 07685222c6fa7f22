#include "daemon/api/notice_body.hpp"

#include <boost/json/serialize.hpp>

#include "daemon/api/codec.hpp"
#include "daemon/api/from_core.hpp"

namespace setwell::api {
namespace {

/// What a morning list tells besides: a notice of the night.
struct AlsoTold {
  std::string kind;
  std::vector<std::string> pieces;
  std::optional<std::string> from;
  std::optional<std::string> until;
  std::optional<std::string> mix_by;
};
BOOST_DESCRIBE_STRUCT(AlsoTold, (), (kind, pieces, from, until, mix_by))

std::vector<std::string> names(const std::vector<quantity::PieceId>& pieces) {
  std::vector<std::string> all;
  for (const auto& piece : pieces)
    all.push_back(piece.text());
  return all;
}

AlsoTold also_told(const core::Telling& telling, const quantity::TimeZone& zone) {
  const auto& content = telling.fact.content;
  return {std::string(core::word(telling.fact.kind)), names(content.pieces), time_text(content.from, zone),
          time_text(content.until, zone), time_text(content.mix_by, zone)};
}

struct EventBody {
  int version = 1;
  std::string id;
  std::string kind;
  bool withdrawal = false;
  std::vector<std::string> pieces;
  std::string title;
  std::string text;
  std::string at;
  std::optional<std::string> from;
  std::optional<std::string> until;
  std::optional<std::string> mix_by;
  std::vector<AlsoTold> also;
  bool rehearsal = false;
};
BOOST_DESCRIBE_STRUCT(EventBody, (),
                      (version, id, kind, withdrawal, pieces, title, text, at, from, until, mix_by, also,
                       rehearsal))

struct PieceBody {
  int version = 1;
  std::string time;
  bool rehearsal = false;
  PieceNow piece;
};
BOOST_DESCRIBE_STRUCT(PieceBody, (), (version, time, rehearsal, piece))

}  // namespace

std::string event_body(const core::Telling& telling, const core::NoticeText& text, const std::string& id,
                       quantity::Instant at, bool rehearsal, const quantity::TimeZone& zone) {
  EventBody body;
  body.id = id;
  body.kind = core::word(telling.fact.kind);
  body.withdrawal = telling.withdrawal;
  body.pieces = names(telling.fact.content.pieces);
  body.title = text.title;
  body.text = text.body;
  body.at = time_text(at, zone);
  body.from = time_text(telling.fact.content.from, zone);
  body.until = time_text(telling.fact.content.until, zone);
  body.mix_by = time_text(telling.fact.content.mix_by, zone);
  for (const auto& each : telling.with)
    body.also.push_back(also_told(each, zone));
  body.rehearsal = rehearsal;
  return boost::json::serialize(to_json(body));
}

std::string test_body(const core::NoticeText& text, const std::string& id, quantity::Instant at,
                      bool rehearsal, const quantity::TimeZone& zone) {
  EventBody body;
  body.id = id;
  body.kind = "test";
  body.title = text.title;
  body.text = text.body;
  body.at = time_text(at, zone);
  body.rehearsal = rehearsal;
  return boost::json::serialize(to_json(body));
}

std::string mail_body(const core::NoticeText& text) {
  return text.title + "\n\n" + text.body;
}

std::string piece_body(const PieceNow& piece, quantity::Instant at, bool rehearsal,
                       const quantity::TimeZone& zone) {
  return boost::json::serialize(to_json(PieceBody{1, time_text(at, zone), rehearsal, piece}));
}

}  // namespace setwell::api
