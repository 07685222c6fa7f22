#include "daemon/service/threat_facts.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include "daemon/core/overtaken.hpp"

namespace setwell::service {

using core::Milestone;
using core::NoticeKind;
using core::Standing;

namespace {

/// So far above its limit a temperature or a dew margin must be before it is well again, K.
constexpr double kWellAbove = 0.5;
/// A chance of trouble from which on it is told, and under which it is over.
constexpr double kChanceTold = 0.3;
constexpr double kChanceOver = 0.15;

/// Below what the coat's slow clocks stand still while it is not tack-free, °C.
std::optional<double> floor_of(const Workshop& workshop, const CoatView& view) {
  const auto* tracked = workshop.coats.find(view.coat->id);
  if (tracked == nullptr || !tracked->coat->clocks) return std::nullopt;
  for (const auto& clock : *tracked->coat->clocks) {
    if (clock.milestone == Milestone::tack_free && clock.rates) return clock.rates->floor().slow_c;
  }
  return std::nullopt;
}

/// The dew margin that the coat is short of, K, a limit before what is only advised; else the widest that is
/// asked for until it is tack-free.
std::optional<double> dew_margin_asked(const CoatView& view) {
  std::optional<double> asked;
  for (const auto& outside : view.outlook->outside) {
    if (outside.unit == "K" && (!asked || outside.is_limit)) asked = outside.limit;
  }
  return asked ? asked : core::dew_margin_until_tack_free(*view.material);
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

/// What threatens a coat that is not tack-free: what is so now, and what the forecast makes likely.
void threat(const Workshop& workshop, CoatFacts& facts, core::TroubleKind what, bool fresh,
            const core::ClockReading* tack_free) {
  const auto& outlook = *facts.view().outlook;
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
  content.limit = cold ? floor_of(workshop, facts.view()) : dew_margin_asked(facts.view());
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

}  // namespace

void threats(const Workshop& workshop, CoatFacts& facts) {
  const auto* tack_free = facts.view().outlook->clock(Milestone::tack_free);
  const bool fresh = tack_free == nullptr || !tack_free->reached.slow;
  threat(workshop, facts, core::TroubleKind::under_floor, fresh, tack_free);
  threat(workshop, facts, core::TroubleKind::dew_margin, fresh, tack_free);
}

}  // namespace setwell::service
