#pragma once

#include <string>

#include "daemon/api/messages/now.hpp"
#include "daemon/core/notice.hpp"

/// The bytes that routes carry. Stable keys; version 1.
namespace setwell::api {

/// One event, as sent by every route: `{"version":1,"id":…,"kind":…,"withdrawal":…,"pieces":[…],"title":…,
/// "text":…,"at":…,"from":…,"until":…,"mix_by":…,"rehearsal":…}`.
[[nodiscard]] std::string event_body(const core::Telling& telling, const core::NoticeText& text,
                                     const std::string& id, quantity::Instant at, bool rehearsal,
                                     const quantity::TimeZone& zone);

/// An event of kind `test`, sent because somebody wants to see the route work.
[[nodiscard]] std::string test_body(const core::NoticeText& text, const std::string& id, quantity::Instant at,
                                    bool rehearsal, const quantity::TimeZone& zone);

/// What a mail says: the subject, an empty line, the text.
[[nodiscard]] std::string mail_body(const core::NoticeText& text);

/// A piece's state, retained per piece on an MQTT route: the same object as in `now --json`, with `version`
/// and `time` before it.
[[nodiscard]] std::string piece_body(const PieceNow& piece, quantity::Instant at, bool rehearsal,
                                     const quantity::TimeZone& zone);

}  // namespace setwell::api
