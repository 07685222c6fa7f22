#include "daemon/service/notice_facts.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/service/batch_view.hpp"
#include "daemon/service/day_facts.hpp"
#include "daemon/service/night_windows.hpp"
#include "daemon/service/piece_view.hpp"
#include "sensors/screen/silence.hpp"

namespace setwell::service {

using core::Milestone;
using core::NoticeFact;
using core::NoticeKind;
using core::Region;
using core::Standing;
using core::Verdict;
using quantity::Instant;

namespace {

/// Free space under this share of the disk is told; it must rise above the second before it is over.
constexpr double kDiskLow = 0.05;
constexpr double kDiskWell = 0.07;
/// So far above its limit a temperature or a dew margin must be before it is well again, K.
constexpr double kWellAbove = 0.5;
/// A chance of trouble from which on it is told, and under which it is over.
constexpr double kChanceTold = 0.3;
constexpr double kChanceOver = 0.15;
/// The trade's dew margin where a sheet states none, K.
constexpr double kDewMargin = 3.0;

/// Collects the facts of one coat, which share their content.
class CoatFacts {
 public:
  CoatFacts(CoatView view, core::NoticeContent content, std::vector<NoticeFact>& to)
      : view_(std::move(view)), content_(std::move(content)), to_(to) {}

  void add(NoticeKind kind, Standing standing, std::optional<Instant> since, std::optional<Instant> due = {},
           std::optional<Instant> useless_after = {}, std::string_view part = {}) {
    NoticeFact fact;
    fact.subject = subject_of(view_.coat->id) + std::string(part);
    fact.kind = kind;
    fact.standing = standing;
    fact.since = since.value_or(view_.outlook->now);
    fact.due = due;
    fact.useless_after = useless_after;
    fact.content = content_;
    to_.push_back(std::move(fact));
  }

  /// A milestone reached by the slow clock.
  void reached(NoticeKind kind, const core::ClockReading* clock) {
    if (clock == nullptr || clock->no_limit) return;
    // Of a piece that is to be coated again nobody waits to pick it up or pack it.
    if (view_.next.planned && !view_.schedule_done) return;
    content_.without_end = true;
    add(kind, clock->reached.slow ? Standing::holds : Standing::not_yet, clock->at.slow, clock->at.slow);
  }

  [[nodiscard]] const CoatView& view() const { return view_; }
  [[nodiscard]] core::NoticeContent& content() { return content_; }

 private:
  CoatView view_;
  core::NoticeContent content_;
  std::vector<NoticeFact>& to_;
};

bool flammable(core::Family family) {
  return family != core::Family::epoxy && family != core::Family::water_borne &&
         family != core::Family::light_cured;
}

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
  content.flammable = flammable(top.family);
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

void window_content(const Workshop& workshop, const CoatView& view, const core::Window& window,
                    core::NoticeContent& content) {
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  const auto times = times_of(workshop, window, top, view.outlook->now);
  content.from = window.from;
  content.until = window.until;
  content.without_end = window.from && !window.until;
  if (const auto span = on_rotator(workshop, view, view.outlook->now); span > quantity::Span(0))
    content.rotator_for = span;
  content.mix_by = times.last_start;
  content.sure = window.sure;
  content.by_touch = window.by_touch;
  if (times.usable) {
    content.usable_from = times.usable->from;
    content.usable_until = times.usable->until;
  }
}

void last_start(const Workshop& workshop, CoatFacts& facts, const core::Window& window, bool open) {
  const auto now = facts.view().outlook->now;
  const auto by_closing = facts.content().mix_by;
  const auto told = last_start_of(workshop, facts.view(), window, by_closing.value_or(*window.until));
  if (!told) return;
  const auto region = facts.view().judgement.region;
  const bool ahead = region == Region::before_opening || region == Region::worth_a_test;
  const bool near = (told->asleep ? ahead : open) && now >= told->tell && now < told->last;
  facts.content().asleep = told->asleep;
  if (!told->asleep) facts.content().mix_by = told->last;
  facts.add(NoticeKind::last_start, near ? Standing::holds : Standing::over, told->tell, told->tell,
            told->last);
  facts.content().asleep = false;
  facts.content().mix_by = by_closing;
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
  const auto* opening = core::opening_of(*view.material, view.rule, *view.outlook).clock;
  const bool reached = opening != nullptr && opening->reached.slow;
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
  facts.add(NoticeKind::closed, standing(region == Region::closed_sandable), when, when);
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

/// A measured value below its limit, or too little above it to be well again.
Standing held_to(bool below, std::optional<double> value, std::optional<double> limit) {
  if (below) return Standing::holds;
  return value && limit && *value < *limit + kWellAbove ? Standing::wavers : Standing::over;
}

Standing threatened(const core::Trouble* trouble) {
  if (trouble == nullptr || *trouble->chance < kChanceOver) return Standing::over;
  return *trouble->chance < kChanceTold ? Standing::wavers : Standing::holds;
}

double dew_margin_asked(const core::Material& material) {
  for (const auto* conditions : {&material.cure.limit, &material.application.limit, &material.cure.advised,
                                 &material.application.advised}) {
    if (conditions->dew_margin) return conditions->dew_margin->kelvin();
  }
  return kDewMargin;
}

/// What threatens a coat that is not tack-free: what is so now, and what the forecast makes likely.
void threat(CoatFacts& facts, core::TroubleKind what, bool fresh, const core::ClockReading* tack_free) {
  const auto& outlook = *facts.view().outlook;
  const auto& material = *facts.view().material;
  const bool cold = what == core::TroubleKind::under_floor;
  const core::Trouble* is = nullptr;
  const core::Trouble* comes = nullptr;
  for (const auto& trouble : outlook.trouble) {
    if (trouble.kind == what) (trouble.chance ? comes : is) = &trouble;
  }
  auto& content = facts.content();
  const auto window = std::pair(content.from, content.until);
  const bool endless = std::exchange(content.without_end, false);
  if (cold && outlook.surface_c) content.value = outlook.surface_c->expected;
  if (!cold) content.value = outlook.dew_margin_k;
  if (cold && material.cure_floor) content.limit = material.cure_floor->degrees();
  if (!cold) content.limit = dew_margin_asked(material);
  content.from.reset();
  content.until = tack_free != nullptr ? tack_free->at.slow : std::nullopt;
  facts.add(cold ? NoticeKind::too_cold : NoticeKind::dew_margin_lost,
            fresh ? held_to(is != nullptr, content.value, content.limit) : Standing::over,
            is != nullptr ? std::optional(is->at) : std::nullopt);
  content.value.reset();
  if (comes != nullptr) {
    content.chance = comes->chance;
    content.threat = cold ? core::Threat::cold : core::Threat::damp;
    content.from = comes->at;
    facts.add(NoticeKind::trouble_ahead, fresh && is == nullptr ? threatened(comes) : Standing::over,
              outlook.now, {}, comes->at, cold ? "/cold" : "/damp");
    content.chance.reset();
    content.threat = core::Threat::none;
  }
  content.limit.reset();
  std::tie(content.from, content.until) = window;
  content.without_end = endless;
}

void threats(CoatFacts& facts) {
  const auto* tack_free = facts.view().outlook->clock(Milestone::tack_free);
  const bool fresh = tack_free == nullptr || !tack_free->reached.slow;
  threat(facts, core::TroubleKind::under_floor, fresh, tack_free);
  threat(facts, core::TroubleKind::dew_margin, fresh, tack_free);
}

/// Where a coat waits for sanding, or nobody knows what comes next; not beside the notice that its window
/// closed.
void sandable(CoatFacts& facts) {
  const auto& view = facts.view();
  const auto* clock = view.outlook->clock(Milestone::sandable);
  if (clock == nullptr || clock->no_limit) return;
  const auto* closing = core::closing_of(*view.material, view.rule, *view.outlook);
  const bool planned = view.next.planned && !view.schedule_done;
  const bool waited_for = view.judgement.region == Region::closed_sandable && closing != nullptr &&
                          closing->at.fast && clock->at.slow && *clock->at.slow > *closing->at.fast;
  if (planned && !waited_for && clock->reached.slow) return;
  facts.content().without_end = true;
  facts.add(NoticeKind::sandable, clock->reached.slow ? Standing::holds : Standing::not_yet, clock->at.slow,
            clock->at.slow);
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
    touch_and_opening(workshop, facts, *window);
    facts.content().value.reset();
    facts.content().limit.reset();
    closing_and_gap(facts);
  }
  if (auto question = unlogged_fact(workshop, *view)) to.push_back(std::move(*question));
  threats(facts);
  sandable(facts);
  facts.reached(NoticeKind::full_strength, view->outlook->clock(Milestone::full_strength));
  for (const auto& whole : whole_piece(workshop, piece, now)) {
    if (whole.milestone == Milestone::handling) facts.reached(NoticeKind::handling, &whole);
    if (whole.milestone == Milestone::packing) facts.reached(NoticeKind::packing, &whole);
    if (whole.milestone == Milestone::full_cure) facts.reached(NoticeKind::full_cure, &whole);
  }
}

void batch_facts(Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  for (const auto* batch : open_batches(workshop, now)) {
    const auto outlook = batch_outlook(workshop, *batch, now);
    if (!outlook || !outlook->told_at) continue;
    NoticeFact fact;
    fact.subject = "batch/" + std::to_string(batch->entry.value());
    fact.kind = NoticeKind::pot_life_ending;
    fact.since = *outlook->told_at;
    fact.due = fact.since;
    fact.standing = now >= fact.since ? Standing::holds : Standing::not_yet;
    fact.useless_after = outlook->over.fast;
    fact.content.batch = batch->made.batch.text();
    fact.content.zone = batch->made.zone.text();
    fact.content.until = outlook->over.fast;
    if (const auto material = workshop.shelf.edition(batch->made.edition, workshop.ledger)) {
      fact.content.sheet_name = material->name;
    }
    to.push_back(std::move(fact));
  }
}

/// Whether somebody waits for this zone's air: an uncured coat lies there.
bool needed(const Workshop& workshop, const quantity::ZoneId& zone, Instant now) {
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress() && !piece.coats.empty() && zone_of(piece, now) == zone) return true;
  }
  return false;
}

void sensor_facts(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  for (const auto& series : workshop.sensors.series()) {
    const auto& spec = series.spec();
    const bool air = spec.quantity == quantity::MeasuredQuantity::air_temperature ||
                     spec.quantity == quantity::MeasuredQuantity::relative_humidity;
    if (!air || !needed(workshop, spec.zone, now)) continue;
    const auto silent =
        screen::silent_since(series.state.last_good, series.watched_from, spec.silent_after, now);
    NoticeFact fact;
    fact.subject = "channel/" + series.id.text();
    fact.kind = NoticeKind::sensor_silent;
    fact.standing = silent ? Standing::holds : Standing::over;
    fact.since = silent.value_or(now);
    fact.due = screen::silence_begins(series.state.last_good, series.watched_from, spec.silent_after);
    fact.content.channel = series.id.text();
    fact.content.zone = spec.zone.text();
    fact.content.from = series.state.last_good;
    to.push_back(std::move(fact));
  }
}

void house_facts(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  if (!workshop.around.broker_connected) {
    NoticeFact fact;
    fact.subject = "broker";
    fact.kind = NoticeKind::broker_away;
    fact.standing = Standing::holds;
    fact.since = workshop.around.broker_away_since.value_or(now);
    to.push_back(std::move(fact));
  }
  if (workshop.around.disk_free_share && *workshop.around.disk_free_share < kDiskWell) {
    NoticeFact fact;
    fact.subject = "disk";
    fact.kind = NoticeKind::disk_filling;
    fact.standing = *workshop.around.disk_free_share < kDiskLow ? Standing::holds : Standing::wavers;
    fact.since = now;
    fact.content.value = *workshop.around.disk_free_share * 100;
    to.push_back(std::move(fact));
  }
}

}  // namespace

std::string subject_of(quantity::EntryId coat) {
  return "coat/" + std::to_string(coat.value());
}

std::vector<NoticeFact> notice_facts(Workshop& workshop, Instant now) {
  std::vector<NoticeFact> facts;
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress() && !piece.coats.empty()) coat_facts(workshop, piece, now, facts);
  }
  batch_facts(workshop, now, facts);
  sensor_facts(workshop, now, facts);
  house_facts(workshop, now, facts);
  for (auto& fact : morning_facts(workshop, now))
    facts.push_back(std::move(fact));
  return facts;
}

}  // namespace setwell::service
