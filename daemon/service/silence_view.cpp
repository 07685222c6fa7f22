#include "daemon/service/silence_view.hpp"

#include <algorithm>

namespace setwell::service {
namespace {

using core::Window;
using quantity::Instant;

/// The judgement by times ahead that are worked out now: the view's own may be a quarter of an hour old.
core::Judgement judged_now(Workshop& workshop, const CoatView& view, const core::AirOf& air, Instant now) {
  const auto* tracked = workshop.coats.find(view.coat->id);
  const auto* forecast = forecast_for(*tracked->coat, workshop.zones, workshop.forecasts, now);
  const auto outlook = core::CoatRun(tracked->coat).outlook(air, now, nullptr, forecast);
  auto evidence = core::evidence_of(*view.material, view.rule, *view.piece, *view.coat,
                                    witness_of(workshop.book.workbook(), *view.coat), outlook,
                                    workshop.settings->workshop.sanded_lasts);
  evidence.schedule_done = view.schedule_done;
  return core::judge(*view.material, view.rule, view.next.id, evidence, outlook);
}

/// The judgement as it would be had the silences been none.
core::Judgement without_silences(Workshop& workshop, const CoatView& view, Instant now) {
  const auto& coat = *workshop.coats.find(view.coat->id)->coat;
  const auto bridged = core::bridged_air(coat, air_of(workshop.zones), now);
  const core::AirOf air = [&](const quantity::ZoneId& zone) -> const core::AirHistory* {
    const auto found = bridged.find(zone);
    return found == bridged.end() ? nullptr : &found->second;
  };
  return judged_now(workshop, view, air, now);
}

std::optional<double> seconds_between(std::optional<Instant> from, std::optional<Instant> to) {
  if (!from || !to) return std::nullopt;
  return quantity::Seconds(*to - *from).count();
}

/// Two computations of one window, silences in and out.
void compare(const Window& with, const Window& without, api::SilencesNow& shown) {
  shown.opens_later_s = seconds_between(without.from, with.from);
  shown.closes_earlier_s = seconds_between(with.until, without.until);
  const auto narrow = seconds_between(with.from, with.until);
  const auto wide = seconds_between(without.from, without.until);
  if (narrow && wide) shown.narrower_s = *wide - *narrow;
}

api::SilencesNow work_out(Workshop& workshop, const CoatView& view,
                          const std::vector<core::SilentStretch>& stretches, Instant now) {
  api::SilencesNow shown;
  const auto& zone = workshop.settings->workshop.time_zone;
  for (const auto& stretch : stretches)
    shown.stretches.push_back({api::time_text(stretch.from, zone), api::time_text(stretch.until, zone)});
  const auto told = judged_now(workshop, view, air_of(workshop.zones), now);
  const auto judged = without_silences(workshop, view, now);
  for (std::size_t i = 0; i < std::min(judged.windows.size(), told.windows.size()); ++i) {
    const auto& window = told.windows[i];
    if (window.until && *window.until <= now) continue;
    compare(window, judged.windows[i], shown);
    break;
  }
  return shown;
}

}  // namespace

std::optional<api::SilencesNow> silences_now(Workshop& workshop, const CoatView& view, Instant now) {
  const auto* tracked = workshop.coats.find(view.coat->id);
  if (tracked == nullptr || tracked->coat->covered || view.recomputing) return std::nullopt;
  const auto stretches = core::silences_of(*tracked->coat, air_of(workshop.zones), now);
  if (stretches.empty()) return std::nullopt;
  auto& kept = workshop.silence_effects[view.coat->id];
  const bool fresh =
      kept.stretches == stretches && now >= kept.at && now - kept.at < std::chrono::minutes(15);
  if (!fresh) kept = {now, stretches, work_out(workshop, view, stretches, now)};
  return kept.shown;
}

}  // namespace setwell::service
