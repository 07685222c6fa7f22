#include "daemon/api/from_core.hpp"

namespace setwell::api {

using quantity::Instant;
using quantity::TimeZone;

std::string time_text(Instant at, const TimeZone& zone) {
  return quantity::rfc3339(at, zone.offset_at(at));
}

std::optional<std::string> time_text(std::optional<Instant> at, const TimeZone& zone) {
  if (!at) return std::nullopt;
  return time_text(*at, zone);
}

DisplayWish from_core(const core::Display& display) {
  return {display.units == core::Units::celsius ? "C" : "F",
          display.clock == core::ClockStyle::h24 ? "24h" : "12h", display.zone.name()};
}

MilestoneNow from_core(const core::ClockReading& clock, const core::Material& material,
                       const TimeZone& zone) {
  MilestoneNow shown;
  shown.name = core::word(clock.milestone);
  if (clock.rule >= 0 && clock.rule < static_cast<int>(material.recoat.size())) {
    shown.top = material.recoat[static_cast<std::size_t>(clock.rule)].top;
  }
  shown.slow = {clock.progress.slow, time_text(clock.at.slow, zone)};
  shown.expected = {clock.progress.expected, time_text(clock.at.expected, zone)};
  shown.fast = {clock.progress.fast, time_text(clock.at.fast, zone)};
  for (const auto basis : clock.basis)
    shown.basis.emplace_back(core::word(basis));
  shown.not_known = clock.not_known;
  return shown;
}

OutsideNow from_core(const core::OutsideCondition& outside, const TimeZone& zone) {
  return {outside.what,
          outside.value,
          outside.limit,
          outside.unit,
          time_text(outside.since, zone),
          time_text(outside.until, zone),
          outside.next_coat};
}

TroubleNow from_core(const core::Trouble& trouble, const TimeZone& zone) {
  return {std::string(core::word(trouble.kind)), trouble.chance, time_text(trouble.at, zone)};
}

RecoatNow from_core(const core::Window& window, const WindowTimes& times, const TimeZone& zone) {
  RecoatNow shown;
  shown.top = window.top;
  shown.test_from = time_text(window.test_from, zone);
  shown.from = time_text(window.from, zone);
  shown.until = time_text(window.until, zone);
  shown.last_start = time_text(times.last_start, zone);
  if (times.usable) {
    shown.usable_from = time_text(times.usable->from, zone);
    shown.usable_until = time_text(times.usable->until, zone);
  }
  shown.else_ = window.otherwise;
  shown.sure = window.sure;
  shown.by_touch = window.by_touch;
  return shown;
}

void show_coat(const core::Material& material, const core::Outlook& outlook, const core::Judgement& judgement,
               const TimeZone& zone, PieceNow& to) {
  to.sheet = material.id.text();
  to.verdict = core::word(judgement.verdict);
  to.next = judgement.next;
  to.remark = judgement.remark;
  for (const auto& clock : outlook.clocks)
    to.milestones.push_back(from_core(clock, material, zone));
  for (const auto& outside : outlook.outside) {
    (outside.is_limit ? to.outside_limits : to.outside_advised).push_back(from_core(outside, zone));
  }
  for (const auto& trouble : outlook.trouble)
    to.trouble.push_back(from_core(trouble, zone));
  if (outlook.surface_c) to.surface_c = outlook.surface_c->expected;
  to.dew_margin_k = outlook.dew_margin_k;
  to.dew_margin_error_k = outlook.dew_margin_error_k;
  to.blush_dose = outlook.blush_dose;
  to.condensing_s = quantity::Seconds(outlook.condensing).count();
}

}  // namespace setwell::api
