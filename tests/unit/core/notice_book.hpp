#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "daemon/core/notice.hpp"

/// What the tests of notice rules share: facts of an invented workshop, and a book that keeps states as the
/// ledger does.
namespace setwell::core {

using quantity::Instant;
using quantity::PieceId;
using quantity::Span;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;
using Key = std::pair<std::string, NoticeKind>;

/// Wednesday 12 March 2031 00:00 UTC, and so many minutes.
inline Instant at(int minute) {
  return Instant(std::chrono::sys_days(std::chrono::year(2031) / 3 / 12)) + minutes(minute);
}
inline constexpr int kNoon = 12 * 60;

inline NoticeFact fact(NoticeKind kind, Standing standing, Instant since,
                       const std::string& subject = "coat/41") {
  NoticeFact made;
  made.subject = subject;
  made.kind = kind;
  made.standing = standing;
  made.since = since;
  made.content.pieces = {PieceId("piece-of-" + subject)};
  made.content.coats = {1};
  made.content.sheet_name = "Clear 12";
  made.content.top_name = "Clear 12";
  made.content.zone = "bench";
  return made;
}

/// Keeps states as the ledger would.
struct Book {
  std::map<Key, NoticeState> states;
  NoticePolicy policy;

  NoticeRound round(const std::vector<NoticeFact>& facts, Instant now) {
    std::vector<NoticeState> stored;
    for (const auto& [key, state] : states)
      stored.push_back(state);
    auto done = decide_notices(stored, facts, now, policy);
    for (const auto& state : done.changed)
      states[{state.subject, state.kind}] = state;
    return done;
  }
  [[nodiscard]] NoticePhase phase(NoticeKind kind, const std::string& subject = "coat/41") const {
    return states.at({subject, kind}).phase;
  }
};

inline constexpr auto kSafe = NoticeKind::safe_to_recoat;
inline constexpr auto kCold = NoticeKind::too_cold;

}  // namespace setwell::core
