#include "daemon/core/notice_grouping.hpp"

#include <algorithm>
#include <utility>

namespace setwell::core {
namespace {

using quantity::Instant;

/// Windows that open and close within this much of each other are told together.
constexpr auto kAlike = std::chrono::minutes(10);

bool near(std::optional<Instant> a, std::optional<Instant> b) {
  if (!a || !b) return a.has_value() == b.has_value();
  return std::chrono::abs(*a - *b) <= kAlike;
}

void later(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other > *mine)) mine = other;
}
void earlier(std::optional<Instant>& mine, std::optional<Instant> other) {
  if (other && (!mine || *other < *mine)) mine = other;
}

/// The same words fit both, but for pieces and times.
bool same_words(const NoticeContent& a, const NoticeContent& b) {
  return a.sheet_name == b.sheet_name && a.top_name == b.top_name && a.zone == b.zone && a.sure == b.sure &&
         a.unfit_air == b.unfit_air && a.by_touch == b.by_touch && a.asleep == b.asleep &&
         a.too_late == b.too_late && a.threat == b.threat && a.without_end == b.without_end &&
         a.washes == b.washes && a.flammable == b.flammable && a.sprayed_isocyanate == b.sprayed_isocyanate;
}

/// Both windows or neither, at nearly the same times, and something of them is left where they overlap.
bool same_window(std::optional<Instant> from, std::optional<Instant> until, std::optional<Instant> other_from,
                 std::optional<Instant> other_until) {
  if (!near(from, other_from) || !near(until, other_until)) return false;
  later(from, other_from);
  earlier(until, other_until);
  return !from || !until || *from < *until;
}

bool alike(const Telling& a, const Telling& b) {
  const auto& mine = a.fact.content;
  const auto& theirs = b.fact.content;
  if (a.fact.kind != b.fact.kind || a.withdrawal != b.withdrawal) return false;
  // Each pot has its own end, and each asks for a hand at once.
  if (a.fact.kind == NoticeKind::pot_life_ending) return false;
  // One question for all that was not logged: each piece is a line of it.
  if (a.fact.kind == NoticeKind::not_logged) return true;
  if (mine.pieces.empty() || theirs.pieces.empty() || !same_words(mine, theirs)) return false;
  return near(a.fact.since, b.fact.since) && near(a.fact.due, b.fact.due) &&
         near(mine.mix_by, theirs.mix_by) && near(mine.sand_from, theirs.sand_from) &&
         same_window(mine.from, mine.until, theirs.from, theirs.until) &&
         same_window(mine.usable_from, mine.usable_until, theirs.usable_from, theirs.usable_until);
}

/// What is bad is told since it began for the first piece, what was waited for since all have it.
bool is_bad(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::last_start:
    case NoticeKind::closed:
    case NoticeKind::closed_not_sandable:
    case NoticeKind::gap_begins:
    case NoticeKind::too_cold:
    case NoticeKind::dew_margin_lost:
    case NoticeKind::trouble_ahead:
      return true;
    default:
      return false;
  }
}

/// A line that says the same of other pieces takes them in.
void join(std::vector<ListedAct>& list, const ListedAct& line) {
  const auto same = std::find_if(list.begin(), list.end(), [&](const ListedAct& each) {
    return each.act == line.act && near(each.from, line.from) && near(each.until, line.until);
  });
  if (same == list.end()) {
    list.push_back(line);
    return;
  }
  same->pieces.insert(same->pieces.end(), line.pieces.begin(), line.pieces.end());
  later(same->from, line.from);
  earlier(same->until, line.until);
}

/// One message for both: the part of the windows that all pieces share.
void merge(Telling& into, const Telling& other) {
  auto& mine = into.fact.content;
  const auto& theirs = other.fact.content;
  mine.pieces.insert(mine.pieces.end(), theirs.pieces.begin(), theirs.pieces.end());
  mine.coats.insert(mine.coats.end(), theirs.coats.begin(), theirs.coats.end());
  into.subjects.insert(into.subjects.end(), other.subjects.begin(), other.subjects.end());
  into.held_by_quiet = into.held_by_quiet && other.held_by_quiet;
  for (const auto& line : theirs.list)
    join(mine.list, line);
  into.fact.since = is_bad(into.fact.kind) ? std::min(into.fact.since, other.fact.since)
                                           : std::max(into.fact.since, other.fact.since);
  later(into.fact.due, other.fact.due);
  // Told in this same round: no sooner useless than for the one it helps longest.
  if (into.fact.useless_after) {
    if (other.fact.useless_after)
      later(into.fact.useless_after, other.fact.useless_after);
    else
      into.fact.useless_after.reset();
  }
  later(mine.from, theirs.from);
  earlier(mine.until, theirs.until);
  earlier(mine.mix_by, theirs.mix_by);
  later(mine.usable_from, theirs.usable_from);
  earlier(mine.usable_until, theirs.usable_until);
  later(mine.sand_from, theirs.sand_from);
  if (theirs.chance && (!mine.chance || *theirs.chance > *mine.chance)) mine.chance = theirs.chance;
  if (theirs.value && (!mine.value || *theirs.value < *mine.value)) mine.value = theirs.value;
  if (theirs.coldest && (!mine.coldest || *theirs.coldest < *mine.coldest)) {
    mine.coldest = theirs.coldest;
    mine.coldest_at = theirs.coldest_at;
  }
}

}  // namespace

void tell(std::vector<Telling>& tellings, Telling fresh) {
  const auto with =
      std::find_if(tellings.begin(), tellings.end(), [&](const Telling& each) { return alike(each, fresh); });
  if (with == tellings.end()) {
    tellings.push_back(std::move(fresh));
  } else {
    merge(*with, fresh);
  }
}

void gather(std::vector<Telling>& tellings) {
  const auto list = std::find_if(tellings.begin(), tellings.end(), [](const Telling& each) {
    return each.fact.kind == NoticeKind::morning_list && !each.withdrawal;
  });
  if (list == tellings.end()) return;
  auto morning = std::move(*list);
  tellings.erase(list);
  std::vector<Telling> rest;
  for (auto& each : tellings) {
    const bool waits = each.held_by_quiet && !each.withdrawal && !each.fact.content.pieces.empty();
    (waits ? morning.with : rest).push_back(std::move(each));
  }
  rest.push_back(std::move(morning));
  tellings = std::move(rest);
}

}  // namespace setwell::core
