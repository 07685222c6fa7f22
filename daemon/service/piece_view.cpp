#include "daemon/service/piece_view.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/cure.hpp"
#include "daemon/service/silence_view.hpp"
#include "daemon/service/zone_view.hpp"

namespace setwell::service {
namespace {

using core::Coat;
using core::Piece;
using quantity::Instant;

/// A window is of use when at least this much of it, or a quarter, falls into waking hours.
constexpr quantity::Span kUsableLeast = std::chrono::minutes(30);

std::size_t planned_coats(const core::Schedule& schedule) {
  return static_cast<std::size_t>(
      std::count_if(schedule.items.begin(), schedule.items.end(),
                    [](const auto& item) { return std::holds_alternative<core::PlannedCoat>(item); }));
}

const core::PlannedCoat* planned_coat(const core::Schedule& schedule, std::size_t index) {
  for (const auto& item : schedule.items) {
    const auto* coat = std::get_if<core::PlannedCoat>(&item);
    if (coat == nullptr) continue;
    if (index == 0) return coat;
    --index;
  }
  return nullptr;
}

const core::Schedule* schedule_of(const Workshop& workshop, const Piece& piece) {
  return piece.made.schedule ? workshop.shelf.schedule(*piece.made.schedule) : nullptr;
}

/// How many coats the piece has up to and with this one.
std::size_t coats_with(const Piece& piece, const Coat& coat) {
  const auto at = std::find_if(piece.coats.begin(), piece.coats.end(),
                               [&](const Coat& each) { return each.id == coat.id; });
  return static_cast<std::size_t>(at - piece.coats.begin()) + 1;
}

quantity::Minutes stirring(const Workshop& workshop, const core::Material& top) {
  if (top.mix && top.mix->stir) return *top.mix->stir;
  return top.mix ? workshop.settings->workshop.stirring : quantity::Minutes(0);
}

/// The sheet of what goes on next; the coat's own where that is not on the shelf.
const core::Material& top_of(const CoatView& view) {
  return view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
}

/// What forbids an open coat's next one in the air there is.
std::vector<core::OutsideCondition> unfit_now(const Workshop& workshop, const CoatView& view, Instant now) {
  const auto zone = zone_of(*view.piece, now);
  const auto found = zone ? workshop.zones.find(*zone) : workshop.zones.end();
  if (found == workshop.zones.end()) return {};
  return core::unfit_air(top_of(view), found->second.history(), *view.outlook, view.coat->happened, now);
}

}  // namespace

core::Display display_of(const settings::Settings& settings) {
  return {settings.workshop.temperature == settings::TemperatureUnit::celsius ? core::Units::celsius
                                                                              : core::Units::fahrenheit,
          settings.workshop.clock == settings::ClockFace::hours_24 ? core::ClockStyle::h24
                                                                   : core::ClockStyle::h12,
          settings.workshop.time_zone};
}

core::WakingHours waking_of(const settings::Settings& settings) {
  core::WakingHours hours{settings.workshop.waking.from, settings.workshop.waking.to, {}};
  for (const auto day : settings.workshop.days_off)
    hours.days_off.insert(day.c_encoding());
  return hours;
}

core::QuietHours quiet_of(const settings::Settings& settings) {
  return {settings.workshop.quiet.from, settings.workshop.quiet.to};
}

namespace {

const core::Stay* stay_of(const Piece& piece, Instant at) {
  const core::Stay* found = nullptr;
  for (const auto& stay : piece.stays) {
    if (stay.since <= at || found == nullptr) found = &stay;
  }
  return found;
}

}  // namespace

std::optional<quantity::ZoneId> zone_of(const Piece& piece, Instant at) {
  const auto* stay = stay_of(piece, at);
  return stay == nullptr ? std::nullopt : std::optional(stay->zone);
}

std::vector<core::Event<core::TouchTested>> witness_of(const core::Workbook& workbook, const Coat& coat) {
  if (!coat.made.batch) return {};
  const auto* batch = workbook.batch(*coat.made.batch);
  return batch == nullptr ? std::vector<core::Event<core::TouchTested>>{} : batch->witness;
}

NextCoat next_after(const Workshop& workshop, const Piece& piece, const Coat& coat) {
  const auto* schedule = schedule_of(workshop, piece);
  const auto* planned = schedule != nullptr ? planned_coat(*schedule, coats_with(piece, coat)) : nullptr;
  const auto id = planned != nullptr ? planned->sheet : coat.made.sheet;
  const auto found = workshop.shelf.sheets().find(id);
  const bool known = found != workshop.shelf.sheets().end() && found->second.material;
  return {known ? &found->second : nullptr, id.text(), planned != nullptr};
}

bool done_after(const Workshop& workshop, const Piece& piece, const Coat& coat) {
  const auto* schedule = schedule_of(workshop, piece);
  return schedule != nullptr && coats_with(piece, coat) >= planned_coats(*schedule);
}

int rule_index(const core::Material& material, const NextCoat& next) {
  const auto* rule = next.sheet != nullptr
                         ? core::rule_for(material, next.sheet->material->id, next.sheet->material->family)
                         : core::rule_for(material, quantity::SheetId(next.id), material.family);
  return rule == nullptr ? -1 : static_cast<int>(rule - material.recoat.data());
}

std::optional<CoatView> view_of(Workshop& workshop, const Piece& piece, const Coat& coat, Instant now) {
  return view_under(workshop, piece, coat, next_after(workshop, piece, coat), now);
}

std::optional<CoatView> view_under(Workshop& workshop, const Piece& piece, const Coat& coat, NextCoat top,
                                   Instant now) {
  const auto* tracked = workshop.coats.find(coat.id);
  if (tracked == nullptr) return std::nullopt;
  CoatView view;
  view.piece = &piece;
  view.coat = &coat;
  view.material = tracked->coat->material;
  view.outlook = &workshop.coats.outlook(coat.id, workshop.zones, workshop.forecasts, now);
  view.next = std::move(top);
  view.rule = rule_index(*view.material, view.next);
  view.schedule_done = done_after(workshop, piece, coat);
  view.recomputing = tracked->recomputing;
  auto evidence =
      core::evidence_of(*view.material, view.rule, piece, coat, witness_of(workshop.book.workbook(), coat),
                        *view.outlook, workshop.settings->workshop.sanded_lasts);
  evidence.schedule_done = view.schedule_done;
  view.judgement = core::judge(*view.material, view.rule, view.next.id, evidence, *view.outlook);
  if (view.judgement.verdict != core::Verdict::recoat || coat.id != piece.coats.back().id) return view;
  view.unfit_air = unfit_now(workshop, view, now);
  if (view.unfit_air.empty()) return view;
  evidence.air_unfit = true;
  view.judgement = core::judge(*view.material, view.rule, view.next.id, evidence, *view.outlook);
  return view;
}

api::WindowTimes times_of(const Workshop& workshop, const core::Window& window, const core::Material& top,
                          Instant now) {
  api::WindowTimes times;
  const auto& set = workshop.settings->workshop;
  if (window.until) {
    times.last_start =
        *window.until - std::chrono::round<quantity::Span>(stirring(workshop, top) + set.per_piece);
  }
  if (window.from && window.sure) {
    const auto from = std::max(*window.from, now);
    auto least = kUsableLeast;
    if (window.until) least = std::min(least, (*window.until - *window.from) / 4);
    if (!window.until || from < *window.until) {
      times.usable = core::usable_part(waking_of(*workshop.settings), set.time_zone, from, window.until,
                                       std::max(least, quantity::Span(std::chrono::minutes(1))));
    }
  }
  return times;
}

bool gives_off_solvent(core::Family family) {
  return family != core::Family::epoxy && family != core::Family::water_borne &&
         family != core::Family::light_cured;
}

std::optional<TooCold> too_cold_to_apply(const Workshop& workshop, const CoatView& view, Instant now) {
  const auto& top = top_of(view);
  const auto zone = zone_of(*view.piece, now);
  if (!top.apply_least || !zone) return std::nullopt;
  const auto shown = zone_now(workshop, *zone, now);
  const auto air = shown.air_c ? quantity::Celsius::from(*shown.air_c) : std::nullopt;
  if (!air || *air >= *top.apply_least) return std::nullopt;
  return TooCold{*air, *top.apply_least};
}

std::vector<core::ClockReading> whole_piece(Workshop& workshop, const Piece& piece, Instant now) {
  std::vector<core::CoatOutlook> coats;
  for (const auto& coat : piece.coats) {
    const auto* tracked = workshop.coats.find(coat.id);
    if (tracked == nullptr) continue;
    coats.push_back({coat.number, tracked->coat->material.get(), tracked->coat->covered,
                     workshop.coats.outlook(coat.id, workshop.zones, workshop.forecasts, now)});
  }
  return core::piece_milestones(coats);
}

namespace {

/// Sanded since the coat, and not wiped since the sanding.
bool sanded_unwiped(const Piece& piece, const Coat& coat, Instant now) {
  std::optional<Instant> sanded;
  std::optional<Instant> wiped;
  for (const auto& step : piece.steps) {
    if (step.happened < coat.happened || step.happened > now) continue;
    if (step.body.step == core::Step::sanded)
      sanded = std::max(sanded.value_or(step.happened), step.happened);
    if (step.body.step == core::Step::wiped) wiped = std::max(wiped.value_or(step.happened), step.happened);
  }
  return sanded && (!wiped || *wiped < *sanded);
}

void show_whereabouts(const Piece& piece, Instant now, api::PieceNow& shown) {
  const auto* stay = stay_of(piece, now);
  if (stay == nullptr) return;
  shown.zone = stay->zone.text();
  if (!stay->place.empty()) shown.place = stay->place;
}

/// What besides the judgement is to be known before the next act, one after another.
std::vector<std::string> further_remarks(const Workshop& workshop, const CoatView& view, Instant now) {
  std::vector<std::string> remarks;
  const auto display = display_of(*workshop.settings);
  const bool recoat = view.judgement.verdict == core::Verdict::recoat;
  if (const auto cold = too_cold_to_apply(workshop, view, now); cold && recoat) {
    remarks.push_back(fmt::format("too cold to coat now: {}, the sheet asks for {} or more",
                                  core::show(cold->air, display), core::show(cold->least, display)));
  }
  if (recoat && sanded_unwiped(*view.piece, *view.coat, now))
    remarks.emplace_back("sanded, and no wipe is logged since");
  if (!view.schedule_done)
    remarks.push_back(core::blush_words(view.outlook->blush_dose, view.outlook->condensing));
  remarks.push_back(core::cold_words(view.outlook->under_floor));
  const auto* cured = view.outlook->clock(core::Milestone::full_cure);
  if (view.schedule_done && cured != nullptr && !cured->not_known.empty())
    remarks.push_back("full cure: " + cured->not_known);
  std::erase(remarks, std::string());
  return remarks;
}

}  // namespace

api::PieceNow coat_now(Workshop& workshop, const Piece& piece, const Coat& coat, Instant now) {
  api::PieceNow shown;
  shown.piece = piece.id.text();
  shown.due = piece.made.due;
  shown.coat = coat.number;
  shown.sheet = coat.made.sheet.text();
  show_whereabouts(piece, now, shown);
  const auto view = view_of(workshop, piece, coat, now);
  if (!view) {
    shown.remark =
        "this coat's sheet edition cannot be read any more; put the sheet right and log the coat again";
    return shown;
  }
  const auto& zone = workshop.settings->workshop.time_zone;
  api::show_coat(*view->material, *view->outlook, view->judgement, zone, shown);
  for (const auto& unfit : view->unfit_air)
    shown.outside_limits.push_back(api::from_core(unfit, zone));
  shown.recomputing = view->recomputing;
  shown.silences = silences_now(workshop, *view, now);
  if (view->judgement.verdict == core::Verdict::recoat && sanded_unwiped(piece, coat, now))
    shown.next = "wipe, let the wipe dry, " + shown.next;
  for (const auto& remark : further_remarks(workshop, *view, now))
    shown.remark += (shown.remark.empty() ? "" : "; ") + remark;
  const auto& top = top_of(*view);
  for (const auto& window : view->judgement.windows)
    shown.recoat.push_back(api::from_core(window, times_of(workshop, window, top, now), zone));
  return shown;
}

api::PieceNow piece_now(Workshop& workshop, const Piece& piece, Instant now) {
  if (piece.coats.empty()) {
    api::PieceNow shown;
    shown.piece = piece.id.text();
    shown.due = piece.made.due;
    show_whereabouts(piece, now, shown);
    const auto* schedule = schedule_of(workshop, piece);
    const auto* first = schedule != nullptr ? planned_coat(*schedule, 0) : nullptr;
    shown.next = first != nullptr ? "coat with " + first->sheet.text() : "first coat";
    return shown;
  }
  auto shown = coat_now(workshop, piece, piece.coats.back(), now);
  for (auto& whole : whole_piece(workshop, piece, now)) {
    const auto name = std::string(core::word(whole.milestone));
    const auto mine = std::find_if(shown.milestones.begin(), shown.milestones.end(),
                                   [&](const api::MilestoneNow& m) { return m.name == name; });
    const auto* tracked = workshop.coats.find(piece.coats.back().id);
    if (mine == shown.milestones.end() || tracked == nullptr) continue;
    *mine = api::from_core(whole, *tracked->coat->material, workshop.settings->workshop.time_zone);
  }
  return shown;
}

}  // namespace setwell::service
