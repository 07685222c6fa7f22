#include "daemon/service/notice_facts.hpp"

#include <algorithm>
#include <utility>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/unfit_air.hpp"
#include "daemon/service/day_facts.hpp"
#include "daemon/service/house_facts.hpp"
#include "daemon/service/night_windows.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/threat_facts.hpp"

namespace setwell::service {

using core::Milestone;
using core::NoticeFact;
using core::NoticeKind;
using core::Region;
using core::Standing;
using core::Verdict;
using quantity::Instant;

namespace {

/// The lowest temperature of the coat's zone since it was made: why a time moved.
void add_coldest(const Workshop& workshop, const CoatView& view, core::NoticeContent& content) {
  const auto zone = workshop.zones.find(view.coat->made.zone);
  if (zone == workshop.zones.end()) return;
  const core::AirPoint* coldest = nullptr;
  for (const auto& point : zone->second.history().temperature()) {
    if (point.at < view.coat->happened || point.at > view.outlook->now) continue;
    if (coldest == nullptr || point.value < coldest->value) coldest = &point;
  }
  if (coldest == nullptr || coldest->value >= view.material->reference_temperature.degrees()) return;
  content.coldest = quantity::Celsius(coldest->value);
  content.coldest_at = coldest->at;
}

core::NoticeContent content_of(const Workshop& workshop, const CoatView& view, Instant now) {
  core::NoticeContent content;
  content.pieces = {view.piece->id};
  content.coats = {view.coat->number};
  content.sheet_name = view.material->name;
  content.top_name = view.next.sheet != nullptr ? view.next.sheet->material->name : view.next.id;
  if (const auto zone = zone_of(*view.piece, now)) content.zone = zone->text();
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  content.washes = view.material->family == core::Family::epoxy;
  content.flammable = gives_off_solvent(top.family);
  content.sprayed_isocyanate =
      top.family == core::Family::urethane || top.family == core::Family::moisture_cured_urethane;
  if (const auto* sanding = core::sanding_of(*view.outlook)) content.sand_from = sanding->at.slow;
  add_coldest(workshop, view, content);
  return content;
}

/// The window that a moment lies in, or the next one.
const core::Window* window_at(const core::Judgement& judgement, Instant now) {
  for (const auto& window : judgement.windows) {
    if (!window.until || now < *window.until) return &window;
  }
  return judgement.windows.empty() ? nullptr : &judgement.windows.back();
}

/// The last start that somebody is awake for; the closing's own where the window leaves none.
std::optional<Instant> awake_start(const Workshop& workshop, const core::Window& window,
                                   std::optional<Instant> last) {
  if (!last || !window.from || !window.until) return last;
  const auto evening =
      core::waking_before(waking_of(*workshop.settings), workshop.settings->workshop.time_zone, *last);
  if (!evening || evening->until == *last) return last;
  const auto awake = evening->until - (*window.until - *last);
  return awake > *window.from ? awake : *last;
}

void window_content(const Workshop& workshop, const CoatView& view, const core::Window& window,
                    core::NoticeContent& content) {
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  const auto times = times_of(workshop, window, top, view.outlook->now);
  content.from = window.from;
  content.until = window.until;
  content.without_end = window.from && !window.until;
  if (const auto span = on_rotator(workshop, view, view.outlook->now); span > quantity::Span(0))
    content.rotator_for = span;
  content.mix_by = awake_start(workshop, window, times.last_start);
  content.sure = window.sure;
  content.by_touch = window.by_touch;
  if (times.usable) {
    content.usable_from = times.usable->from;
    content.usable_until = times.usable->until;
  }
}

/// Whether the window is the one after a gap.
bool opens_late(const CoatView& view, const core::Window& window) {
  const auto* gap_ends = view.outlook->clock(Milestone::gap_ends, view.rule);
  return gap_ends != nullptr && window.from && window.from == gap_ends->at.slow;
}

void last_start(const Workshop& workshop, CoatFacts& facts, const core::Window& window, bool open) {
  const auto now = facts.view().outlook->now;
  const auto& view = facts.view();
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  const auto by_day = facts.content().mix_by;
  const auto by_closing = times_of(workshop, window, top, now).last_start;
  const auto told = last_start_of(workshop, view, window, by_closing.value_or(*window.until));
  if (!told) return;
  const auto region = facts.view().judgement.region;
  const bool ahead = region == Region::before_opening || region == Region::worth_a_test;
  const bool unfit = !view.unfit_air.empty() && window.sure && !window.by_touch;
  const bool near = (told->asleep ? ahead : open || unfit) && now >= told->tell && now < told->last;
  facts.content().asleep = told->asleep;
  facts.content().mix_by = told->asleep ? by_closing : told->last;
  facts.add(NoticeKind::last_start, near ? Standing::holds : Standing::over, told->tell, told->tell,
            told->last);
  facts.content().asleep = false;
  facts.content().mix_by = by_day;
}

void touch_and_opening(const Workshop& workshop, CoatFacts& facts, const core::Window& window) {
  const auto& view = facts.view();
  const bool test = view.judgement.verdict == Verdict::touch_test;
  const bool early = view.judgement.region == Region::before_opening;
  facts.add(NoticeKind::touch_test,
            test    ? Standing::holds
            : early ? Standing::not_yet
                    : Standing::over,
            window.test_from, window.test_from, window.from);
  const auto* early_opening = core::opening_of(*view.material, view.rule, *view.outlook).clock;
  const auto* opening =
      opens_late(view, window) ? view.outlook->clock(Milestone::gap_ends, view.rule) : early_opening;
  const auto came = [](const core::ClockReading* clock) { return clock != nullptr && clock->reached.slow; };
  const bool reached = came(opening) || came(early_opening);
  const bool open = view.judgement.verdict == Verdict::recoat && window.sure && !window.by_touch;
  if (opening == nullptr) return;  // open at once: nobody needs to be told what they just did
  facts.add(NoticeKind::safe_to_recoat,
            open      ? Standing::holds
            : reached ? Standing::over
                      : Standing::not_yet,
            opening->at.slow, opening->at.slow, window.until);
  if (!window.until || !window.from) return;
  if (window.sure) last_start(workshop, facts, window, open);
}

/// Whether the window closed before the coat could be sanded: then the wait was told, and its end will be.
bool sandable_after_closing(const CoatView& view) {
  const auto* closing = core::closing_of(*view.material, view.rule, *view.outlook);
  const auto* clock = core::sanding_of(*view.outlook);
  return closing != nullptr && clock != nullptr && clock->milestone == Milestone::sandable &&
         closing->at.fast && clock->at.slow && *clock->at.slow > *closing->at.fast;
}

void closing_and_gap(CoatFacts& facts) {
  const auto& view = facts.view();
  const auto region = view.judgement.region;
  const bool resanded = view.judgement.verdict == Verdict::recoat;
  const auto* closing = core::closing_of(*view.material, view.rule, *view.outlook);
  const bool shut = closing != nullptr && closing->reached.fast;
  const auto when = closing != nullptr ? closing->at.fast : std::nullopt;
  const auto standing = [&](bool holds) {
    return holds && !resanded ? Standing::holds : shut || holds ? Standing::over : Standing::not_yet;
  };
  facts.add(NoticeKind::closed, standing(region == Region::closed_sandable && !sandable_after_closing(view)),
            when, when);
  facts.add(NoticeKind::closed_not_sandable, standing(region == Region::closed_unsanded), when, when);
  const auto* gap = view.outlook->clock(Milestone::gap_begins, view.rule);
  if (gap == nullptr) return;
  const bool inside = region == Region::in_gap;
  facts.add(NoticeKind::gap_begins,
            inside              ? Standing::holds
            : gap->reached.fast ? Standing::over
                                : Standing::not_yet,
            gap->at.fast, gap->at.fast);
}

/// Where a coat waits for sanding, or nobody knows what comes next; not beside the notice that its window
/// closed.
void sandable(CoatFacts& facts) {
  const auto& view = facts.view();
  const auto* clock = view.outlook->clock(Milestone::sandable);
  if (clock == nullptr || clock->no_limit) return;
  const bool planned = view.next.planned && !view.schedule_done;
  const bool waited_for = view.judgement.region == Region::closed_sandable && sandable_after_closing(view);
  if (planned && !waited_for && clock->reached.slow) return;
  facts.content().without_end = true;
  facts.content().too_late = waited_for && !view.schedule_done;
  facts.add(NoticeKind::sandable, clock->reached.slow ? Standing::holds : Standing::not_yet, clock->at.slow,
            clock->at.slow);
  facts.content().too_late = false;
}

void coat_facts(Workshop& workshop, const core::Piece& piece, Instant now, std::vector<NoticeFact>& to) {
  const auto view = view_of(workshop, piece, piece.coats.back(), now);
  // While clocks are being carried along nothing they say is told: it would be a telling about the past.
  if (!view || view->recomputing) return;
  CoatFacts facts(*view, content_of(workshop, *view, now), to);
  if (const auto* window = window_at(view->judgement, now); window != nullptr && !view->schedule_done) {
    window_content(workshop, *view, *window, facts.content());
    if (const auto cold = too_cold_to_apply(workshop, *view, now)) {
      facts.content().value = cold->air.degrees();
      facts.content().limit = cold->least.degrees();
    }
    facts.content().unfit_air = core::unfit_words(view->unfit_air, display_of(*workshop.settings));
    touch_and_opening(workshop, facts, *window);
    facts.content().unfit_air.clear();
    facts.content().value.reset();
    facts.content().limit.reset();
    closing_and_gap(facts);
  }
  if (auto question = unlogged_fact(workshop, *view)) to.push_back(std::move(*question));
  threats(workshop, facts);
  sandable(facts);
  // Of a piece that is to be coated again nobody waits to pick it up or pack it.
  if (view->next.planned && !view->schedule_done) return;
  facts.reached(NoticeKind::full_strength, view->outlook->clock(Milestone::full_strength));
  for (const auto& whole : whole_piece(workshop, piece, now)) {
    if (whole.milestone == Milestone::handling) facts.reached(NoticeKind::handling, &whole);
    if (whole.milestone == Milestone::packing) facts.reached(NoticeKind::packing, &whole);
    if (whole.milestone == Milestone::full_cure) facts.reached(NoticeKind::full_cure, &whole);
  }
}

}  // namespace

std::string subject_of(quantity::EntryId coat) {
  return "coat/" + std::to_string(coat.value());
}

std::vector<NoticeFact> notice_facts(Workshop& workshop, Instant now) {
  std::vector<NoticeFact> facts;
  facts.reserve(workshop.coats.coats().size() * core::kNoticeKinds.size());
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress() && !piece.coats.empty()) coat_facts(workshop, piece, now, facts);
  }
  for (auto&& more : {batch_facts(workshop, now), house_facts(workshop, now), morning_facts(workshop, now)})
    facts.insert(facts.end(), more.begin(), more.end());
  return facts;
}

}  // namespace setwell::service
