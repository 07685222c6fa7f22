#include "daemon/service/day_facts.hpp"

#include <algorithm>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/service/night_windows.hpp"
#include "daemon/service/notice_facts.hpp"
#include "daemon/service/piece_view.hpp"

namespace setwell::service {

using core::ListedAct;
using core::NoticeFact;
using core::NoticeKind;
using core::Region;
using core::Standing;
using quantity::Instant;

namespace {

/// A list later than this after waking is of no use.
constexpr auto kMorning = std::chrono::hours(2);
constexpr auto kBeforeDaysEnd = std::chrono::minutes(30);
constexpr auto kDay = std::chrono::hours(24);
constexpr auto kMoment = std::chrono::minutes(1);

/// One piece's line, and when it first asks for hands; nothing where it cannot be told.
struct Line {
  ListedAct act;
  std::optional<Instant> hands;
};

const core::Window* window_ahead(const core::Judgement& judgement, Instant now) {
  for (const auto& window : judgement.windows) {
    if (window.sure && window.from && (!window.until || now < *window.until)) return &window;
  }
  return nullptr;
}

/// The next of a finished piece's own milestones.
Line curing_line(Workshop& workshop, const core::Piece& piece, Instant now) {
  Line line{{{piece.id}, "curing, its time is not known yet", {}, {}}, {}};
  for (const auto& whole : whole_piece(workshop, piece, now)) {
    // Where the sure time is not within reach the expected one is better than none, and says so.
    const auto at = whole.at.slow ? whole.at.slow : whole.at.expected;
    if (whole.reached.slow || !at || *at < now || (line.act.from && *line.act.from <= *at)) continue;
    line.act.act = whole.milestone == core::Milestone::handling  ? "wait, may be picked up"
                   : whole.milestone == core::Milestone::packing ? "wait, packing"
                                                                 : "wait, full cure";
    if (!whole.at.slow) line.act.act += " expected";
    line.act.from = at;
    line.hands = whole.at.slow;
  }
  return line;
}

std::string act_of(const CoatView& view) {
  const auto top = view.next.sheet != nullptr ? view.next.sheet->material->name : view.next.id;
  switch (view.judgement.region) {
    case Region::in_gap:
      return "do not coat";
    case Region::closed_unsanded:
      return "too late to coat, too soon to sand: wait, sand";
    case Region::closed_sandable:
      return view.judgement.next;
    default:
      return "recoat with " + top;
  }
}

Line coating_line(const Workshop& workshop, const CoatView& view, Instant now) {
  Line line{{{view.piece->id}, act_of(view), {}, {}}, {}};
  const auto region = view.judgement.region;
  if (region == Region::closed_sandable && view.judgement.verdict != core::Verdict::recoat) {
    line.hands = now;
    return line;
  }
  if (region == Region::closed_unsanded) {
    if (const auto* sanding = core::sanding_of(*view.outlook)) line.act.from = line.hands = sanding->at.slow;
    return line;
  }
  const auto* window = window_ahead(view.judgement, now);
  const auto place = zone_of(*view.piece, now);
  const bool alone = window != nullptr && place && unattended_heat(workshop, *place, now, *window->from);
  if (window == nullptr || alone) {
    line.act.act = "wait";
    return line;
  }
  if (region == Region::in_gap) {
    line.act.until = window->from;
    return line;
  }
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  const auto usable = times_of(workshop, *window, top, now).usable;
  line.act.from = usable ? usable->from : *window->from;
  line.act.until = usable && window->until ? std::optional(usable->until) : window->until;
  if (!usable) line.act.act += " (in your night)";
  line.hands = line.act.from;
  return line;
}

std::optional<Line> line_of(Workshop& workshop, const core::Piece& piece, Instant now) {
  const auto view = view_of(workshop, piece, piece.coats.back(), now);
  if (!view || view->recomputing) return std::nullopt;
  if (view->schedule_done) return curing_line(workshop, piece, now);
  return coating_line(workshop, *view, now);
}

/// The coldest hour of the last day where the most recent coat lies.
void add_tonight(const Workshop& workshop, const core::Piece& piece, Instant now,
                 core::NoticeContent& content) {
  const auto place = zone_of(piece, now);
  if (!place || content.coldest) return;
  const auto zone = workshop.zones.find(*place);
  if (zone == workshop.zones.end()) return;
  for (const auto& point : zone->second.history().temperature()) {
    if (point.at < now - kDay || point.at > now) continue;
    if (content.coldest && content.coldest->degrees() <= point.value) continue;
    content.coldest = quantity::Celsius(point.value);
    content.coldest_at = point.at;
    content.zone = place->text();
  }
}

bool earlier(const Line& a, const Line& b) {
  constexpr auto kNever = Instant::max();
  const auto when = [&](const Line& line) {
    return std::pair(line.act.until.value_or(kNever), line.act.from.value_or(kNever));
  };
  return std::pair(a.hands.value_or(kNever), when(a)) < std::pair(b.hands.value_or(kNever), when(b));
}

/// Lines that say the same are one.
std::vector<ListedAct> grouped(std::vector<Line> lines) {
  constexpr auto kAlike = std::chrono::minutes(10);
  const auto near = [&](std::optional<Instant> a, std::optional<Instant> b) {
    return a.has_value() == b.has_value() && (!a || std::chrono::abs(*a - *b) <= kAlike);
  };
  std::stable_sort(lines.begin(), lines.end(), earlier);
  std::vector<ListedAct> list;
  for (auto& line : lines) {
    const auto same = std::find_if(list.begin(), list.end(), [&](const ListedAct& each) {
      return each.act == line.act.act && near(each.from, line.act.from) && near(each.until, line.act.until);
    });
    if (same == list.end()) {
      list.push_back(std::move(line.act));
      continue;
    }
    same->pieces.push_back(line.act.pieces.front());
    if (line.act.from) same->from = std::max(*same->from, *line.act.from);
    if (line.act.until) same->until = std::min(*same->until, *line.act.until);
  }
  return list;
}

NoticeFact morning(Workshop& workshop, Instant began, Instant now) {
  NoticeFact fact;
  fact.subject = "day";
  fact.kind = NoticeKind::morning_list;
  fact.since = began;
  fact.useless_after = began + kMorning;
  std::vector<Line> lines;
  bool hands = false;
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (!piece.in_progress() || piece.coats.empty() || piece.coats.back().happened > began) continue;
    auto line = line_of(workshop, piece, now);
    if (!line) continue;
    hands = hands || (line->hands && *line->hands < now + kDay);
    add_tonight(workshop, piece, now, fact.content);
    lines.push_back(std::move(*line));
  }
  fact.content.list = grouped(std::move(lines));
  fact.standing = hands ? Standing::holds : Standing::over;
  return fact;
}

bool entered_since(const core::Piece& piece, Instant from) {
  const auto after = [&](const auto& event) { return event.happened >= from; };
  return std::any_of(piece.steps.begin(), piece.steps.end(), after) ||
         std::any_of(piece.touches.begin(), piece.touches.end(), after);
}

/// Half an hour before the waking hours end in which, or after which, the window closed.
std::optional<Instant> question_time(const core::WakingHours& hours, const quantity::TimeZone& zone,
                                     Instant closed) {
  const auto waking = core::next_waking(hours, zone, closed);
  const auto ends = waking ? core::waking_ends(hours, zone, *waking) : std::nullopt;
  if (!ends || *ends - *waking > kDay) return std::nullopt;
  return *ends - kBeforeDaysEnd;
}

}  // namespace

std::vector<NoticeFact> morning_facts(Workshop& workshop, Instant now) {
  const auto hours = waking_of(*workshop.settings);
  const auto& zone = workshop.settings->workshop.time_zone;
  if (hours.from == hours.to) return {};  // nobody sleeps, so there is no morning
  const auto today = core::waking_before(hours, zone, now + std::chrono::milliseconds(1));
  NoticeFact fact;
  fact.subject = "day";
  fact.kind = NoticeKind::morning_list;
  if (today && now <= today->from + kMorning) {
    fact = morning(workshop, today->from, now);
  }
  const auto tomorrow = core::next_waking(hours, zone, core::waking_ends(hours, zone, now).value_or(now));
  if (fact.standing != Standing::holds) fact.due = tomorrow;
  return {fact};
}

std::optional<NoticeFact> unlogged_fact(const Workshop& workshop, const CoatView& view) {
  if (view.schedule_done || view.judgement.windows.empty()) return std::nullopt;
  const auto now = view.outlook->now;
  const auto& piece = *view.piece;
  const auto& window = view.judgement.windows.back();
  const auto region = view.judgement.region;
  const bool closed = region == Region::closed_sandable || region == Region::closed_unsanded;
  if (!closed || !window.sure || !window.from || !window.until || *window.until > now) return std::nullopt;
  const auto hours = waking_of(*workshop.settings);
  const auto& zone = workshop.settings->workshop.time_zone;
  const auto asked = question_time(hours, zone, *window.until);
  if (!asked || !core::usable_part(hours, zone, *window.from, window.until, kMoment)) return std::nullopt;
  NoticeFact fact;
  fact.subject = subject_of(view.coat->id);
  fact.kind = NoticeKind::not_logged;
  fact.since = *asked;
  fact.due = asked;
  fact.useless_after = *asked + kBeforeDaysEnd;
  const bool holds = now >= *asked && now <= *fact.useless_after && !entered_since(piece, *window.from);
  fact.standing = holds ? Standing::holds : Standing::over;
  fact.content.pieces = {piece.id};
  fact.content.coats = {view.coat->number};
  const auto top = view.next.sheet != nullptr ? view.next.sheet->material->name : view.next.id;
  fact.content.list = {{{piece.id}, "recoat with " + top, window.from, window.until}};
  return fact;
}

}  // namespace setwell::service
