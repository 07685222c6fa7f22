#include "daemon/service/notice_facts.hpp"

#include <algorithm>

#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/unfit_air.hpp"
#include "daemon/service/batch_view.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/sensor_view.hpp"
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

/// The last start is told this long before, and for windows under two hours at half time.
constexpr auto kLastStartAhead = std::chrono::minutes(30);
constexpr auto kShortWindow = std::chrono::hours(2);
/// Free space under this share of the disk is told; it must rise above the second before it is over.
constexpr double kDiskLow = 0.05;

/// Collects the facts of one coat, which share their content.
class CoatFacts {
 public:
  CoatFacts(CoatView view, core::NoticeContent content, std::vector<NoticeFact>& to)
      : view_(std::move(view)), content_(std::move(content)), to_(to) {}

  void add(NoticeKind kind, Standing standing, std::optional<Instant> since, std::optional<Instant> due = {},
           std::optional<Instant> useless_after = {}) {
    NoticeFact fact;
    fact.subject = subject_of(view_.coat->id);
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
    add(kind, clock->reached.slow ? Standing::holds : Standing::not_yet, clock->at.slow, clock->at.slow);
  }

  [[nodiscard]] const CoatView& view() const { return view_; }
  [[nodiscard]] core::NoticeContent& content() { return content_; }

 private:
  CoatView view_;
  core::NoticeContent content_;
  std::vector<NoticeFact>& to_;
};

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

void window_content(const Workshop& workshop, const CoatView& view, const core::Window& window,
                    core::NoticeContent& content) {
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  const auto times = times_of(workshop, window, top, view.outlook->now);
  content.from = window.from;
  content.until = window.until;
  content.mix_by = times.last_start;
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

void touch_and_opening(CoatFacts& facts, const core::Window& window) {
  const auto& view = facts.view();
  const auto now = view.outlook->now;
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
  const auto& content = facts.content();
  const auto last = content.mix_by.value_or(*window.until);
  const auto width = *window.until - *window.from;
  const auto tell = width < kShortWindow ? *window.from + width / 2 : last - kLastStartAhead;
  const bool unfit = !view.unfit_air.empty() && window.sure && !window.by_touch;
  const bool near = (open || unfit) && now >= tell && now < last;
  facts.add(NoticeKind::last_start, near ? Standing::holds : Standing::over, tell, tell, last);
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

/// Below what the coat's slow clocks stand still while it is not tack-free, °C.
std::optional<double> floor_of(const Workshop& workshop, const CoatView& view) {
  const auto* tracked = workshop.coats.find(view.coat->id);
  if (tracked == nullptr || !tracked->coat->clocks) return std::nullopt;
  for (const auto& clock : *tracked->coat->clocks) {
    if (clock.milestone == Milestone::tack_free && clock.rates) return clock.rates->floor().slow_c;
  }
  return std::nullopt;
}

/// The dew margin that the coat is short of, K; a limit before what is only advised.
std::optional<double> dew_margin_asked(const core::Outlook& outlook) {
  std::optional<double> asked;
  for (const auto& outside : outlook.outside) {
    if (outside.unit == "K" && (!asked || outside.is_limit)) asked = outside.limit;
  }
  return asked;
}

void threats(const Workshop& workshop, CoatFacts& facts) {
  const auto& view = facts.view();
  const auto* tack_free = view.outlook->clock(Milestone::tack_free);
  const bool fresh = tack_free == nullptr || !tack_free->reached.slow;
  const auto find = [&](core::TroubleKind kind) {
    return std::find_if(
        view.outlook->trouble.begin(), view.outlook->trouble.end(),
        [&](const core::Trouble& trouble) { return trouble.kind == kind && !trouble.chance; });
  };
  const auto cold = find(core::TroubleKind::under_floor);
  const auto damp = find(core::TroubleKind::dew_margin);
  const auto end = view.outlook->trouble.end();
  auto& content = facts.content();
  if (view.outlook->surface_c) content.value = view.outlook->surface_c->expected;
  content.limit = floor_of(workshop, view);
  facts.add(NoticeKind::too_cold, fresh && cold != end ? Standing::holds : Standing::over,
            cold != end ? std::optional(cold->at) : std::nullopt);
  content.value = view.outlook->dew_margin_k;
  content.limit = dew_margin_asked(*view.outlook);
  facts.add(NoticeKind::dew_margin_lost, fresh && damp != end ? Standing::holds : Standing::over,
            damp != end ? std::optional(damp->at) : std::nullopt);
  content.value.reset();
  content.limit.reset();
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
    touch_and_opening(facts, *window);
    facts.content().unfit_air.clear();
    facts.content().value.reset();
    facts.content().limit.reset();
    closing_and_gap(facts);
  }
  threats(workshop, facts);
  facts.reached(NoticeKind::sandable, view->outlook->clock(Milestone::sandable));
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

NoticeFact sensor_fact(const Series& series, NoticeKind kind, std::optional<Instant> since, Instant now) {
  NoticeFact fact;
  fact.subject = "channel/" + series.id.text();
  fact.kind = kind;
  fact.standing = since ? Standing::holds : Standing::over;
  fact.since = since.value_or(now);
  fact.content.channel = series.id.text();
  fact.content.zone = series.spec().zone.text();
  fact.content.from = series.state.last_good;
  return fact;
}

/// Nothing trusted for too long: a sensor that still sends is not believed, any other is silent.
void silence_facts(const Series& series, Instant now, std::vector<NoticeFact>& to) {
  const auto limit = series.spec().silent_after;
  const auto silent = screen::silent_since(series.state.last_good, series.watched_from, limit, now);
  const bool sends = series.state.last_message && now - *series.state.last_message <= limit;
  const auto due = screen::silence_begins(series.state.last_good, series.watched_from, limit);
  to.push_back(sensor_fact(series, NoticeKind::sensor_silent, sends ? std::nullopt : silent, now));
  to.back().due = due;
  to.push_back(sensor_fact(series, NoticeKind::sensor_implausible, sends ? silent : std::nullopt, now));
  to.back().due = due;
}

void sensor_facts(const Workshop& workshop, Instant now, std::vector<NoticeFact>& to) {
  for (const auto& series : workshop.sensors.series()) {
    const auto quantity = series.spec().quantity;
    if (quantity == quantity::MeasuredQuantity::battery) {
      const auto low = battery_low(series);
      to.push_back(
          sensor_fact(series, NoticeKind::battery_low, low ? series.state.last_change : std::nullopt, now));
      to.back().content.value = low;
    }
    if (!feeds_air(series.spec()) || !needed(workshop, series.spec().zone, now)) continue;
    silence_facts(series, now, to);
    if (decode::is_temperature(quantity))
      to.push_back(sensor_fact(series, NoticeKind::sensor_stuck, stuck_since(workshop, series), now));
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
  if (workshop.around.disk_free_share && *workshop.around.disk_free_share < kDiskLow) {
    NoticeFact fact;
    fact.subject = "disk";
    fact.kind = NoticeKind::disk_filling;
    fact.standing = Standing::holds;
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
  facts.reserve(workshop.coats.coats().size() * core::kNoticeKinds.size());
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (piece.in_progress() && !piece.coats.empty()) coat_facts(workshop, piece, now, facts);
  }
  batch_facts(workshop, now, facts);
  sensor_facts(workshop, now, facts);
  house_facts(workshop, now, facts);
  return facts;
}

}  // namespace setwell::service
