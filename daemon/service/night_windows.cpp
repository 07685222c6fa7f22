#include "daemon/service/night_windows.hpp"

#include <algorithm>

namespace setwell::service {

using quantity::Instant;
using quantity::Span;

namespace {

constexpr auto kAhead = std::chrono::minutes(30);
constexpr auto kShortWindow = std::chrono::hours(2);
/// The evening begins so long before waking hours end: time to mix and coat before bed.
constexpr auto kEvening = std::chrono::hours(2);
constexpr auto kMoment = std::chrono::minutes(1);

bool has_rotator(const Workshop& workshop, const quantity::ZoneId& zone) {
  const auto& rotators = workshop.book.workbook().rotators;
  const auto& channels = workshop.settings->channels;
  return std::any_of(rotators.begin(), rotators.end(),
                     [&](const auto& each) { return each.body.zone == zone; }) ||
         std::any_of(channels.begin(), channels.end(), [&](const auto& each) {
           return each.zone == zone && each.quantity == quantity::MeasuredQuantity::running;
         });
}

LastStart by_day(const core::Window& window, Instant last) {
  const auto width = *window.until - *window.from;
  return {width < kShortWindow ? *window.from + width / 2 : last - kAhead, last, false};
}

}  // namespace

Span on_rotator(const Workshop& workshop, const CoatView& view, Instant now) {
  const auto zone = zone_of(*view.piece, now);
  if (!zone || !has_rotator(workshop, *zone)) return Span(0);
  const auto& top = view.next.sheet != nullptr ? *view.next.sheet->material : *view.material;
  if (!top.tack_free) return Span(0);
  quantity::Hours longest{0};
  for (const auto& row : top.tack_free->rows) {
    if (row.at <= top.reference_temperature) longest = std::max(longest, row.time.high);
  }
  return std::chrono::round<Span>(longest);
}

bool unattended_heat(const Workshop& workshop, const quantity::ZoneId& zone, Instant now, Instant at) {
  const auto* set = workshop.settings->zone(zone);
  if (set == nullptr || set->kind != settings::ZoneKind::heated || at <= now) return false;
  const auto ends =
      core::waking_ends(waking_of(*workshop.settings), workshop.settings->workshop.time_zone, now);
  return !ends || *ends < at;
}

std::optional<LastStart> last_start_of(const Workshop& workshop, const CoatView& view,
                                       const core::Window& window, Instant last) {
  const auto now = view.outlook->now;
  const auto place = zone_of(*view.piece, now);
  if (place && unattended_heat(workshop, *place, now, *window.from)) return std::nullopt;
  const auto hours = waking_of(*workshop.settings);
  const auto& zone = workshop.settings->workshop.time_zone;
  const auto stay = on_rotator(workshop, view, now);
  const bool awake = core::is_waking(hours, zone, last - kMoment);
  if (awake && stay == Span(0)) return by_day(window, last);
  const auto evening = core::waking_before(hours, zone, last);
  if (!evening) return std::nullopt;
  if (evening->until <= *window.from) return LastStart{evening->until - kEvening, evening->until, true};
  const auto ends = core::waking_ends(hours, zone, evening->until - kMoment).value_or(evening->until);
  const auto attended = std::min(last, ends - (*window.until - last) - stay);
  if (attended <= *window.from) return std::nullopt;
  if (attended == last) return by_day(window, last);
  return LastStart{std::max(*window.from, attended - kEvening), attended, false};
}

}  // namespace setwell::service
