#include "daemon/api/notice_body.hpp"

#include <boost/json/serialize.hpp>

#include "daemon/api/codec.hpp"
#include "daemon/api/from_core.hpp"

namespace setwell::api {
namespace {

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
  bool rehearsal = false;
};
BOOST_DESCRIBE_STRUCT(EventBody, (),
                      (version, id, kind, withdrawal, pieces, title, text, at, from, until, mix_by,
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
  for (const auto& piece : telling.fact.content.pieces)
    body.pieces.push_back(piece.text());
  body.title = text.title;
  body.text = text.body;
  body.at = time_text(at, zone);
  body.from = time_text(telling.fact.content.from, zone);
  body.until = time_text(telling.fact.content.until, zone);
  body.mix_by = time_text(telling.fact.content.mix_by, zone);
  body.rehearsal = rehearsal;
  return boost::json::serialize(to_json(body));
}

std::string piece_body(const PieceNow& piece, quantity::Instant at, bool rehearsal,
                       const quantity::TimeZone& zone) {
  return boost::json::serialize(to_json(PieceBody{1, time_text(at, zone), rehearsal, piece}));
}

}  // namespace setwell::api
