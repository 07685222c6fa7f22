#include <algorithm>
#include <chrono>
#include <cmath>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/coat_state.hpp"
#include "daemon/core/leg.hpp"

namespace setwell::core {

using quantity::Hours;
using quantity::Instant;
using quantity::Span;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr days kFarthest{60};

Span step_after(Span ahead) {
  if (ahead < days(3)) return minutes(15);
  return ahead < days(14) ? Span(hours(1)) : Span(hours(3));
}

const quantity::ZoneId& zone_at(const CoatCase& coat, Instant at) {
  const quantity::ZoneId* zone = &coat.coat.made.zone;
  for (const Stay& stay : coat.stays)
    if (stay.since <= at && stay.since > coat.coat.made.last_pass) zone = &stay.zone;
  return *zone;
}

Bounded<std::optional<Instant>> times_of(CoatNumbers& known, CoatNumbers& projected, std::size_t c) {
  const auto at = [&](Track t) { return moment(known.reached(c, t) ? known.at(c, t) : projected.at(c, t)); };
  return {at(Track::slow), at(Track::expected), at(Track::fast)};
}

ClockReading reading_of(const SheetClock& clock, std::size_t c, CoatNumbers& known, CoatNumbers& projected) {
  ClockReading r;
  r.milestone = clock.milestone;
  r.rule = clock.rule;
  r.basis.insert(clock.one_temperature ? Basis::one_temperature : Basis::table);
  r.no_limit = !clock.rates.has_value();
  if (r.no_limit) return r;
  r.progress = {known.progress(c, Track::slow), known.progress(c, Track::expected),
                known.progress(c, Track::fast)};
  r.reached = {known.reached(c, Track::slow), known.reached(c, Track::expected),
               known.reached(c, Track::fast)};
  r.at = times_of(known, projected, c);
  if (projected.silence(c) != 0) r.basis.insert(Basis::silence);
  if (projected.assumed(c) != 0) r.basis.insert(Basis::assumed);
  r.expected_at_upper = moment(projected.at(c, Track::expected_upper));
  r.likely_at = moment(projected.at(c, Track::likely));
  return r;
}

struct Present {
  const CoatCase& coat;
  const CoatPlan& plan;
  CoatNumbers& numbers;
  Instant now;
  const AirHistory* air;
};

bool still_soft(const Present& p) {
  return p.plan.tack_free < 0 || !p.numbers.reached(static_cast<std::size_t>(p.plan.tack_free), Track::slow);
}

void tell_outside(const Present& p, Outlook& out) {
  for (std::size_t i = 0; i < p.plan.conditions.size(); ++i)
    if (const auto since = moment(p.numbers.since(i)))
      out.outside.push_back(told(p.plan.conditions[i], p.numbers.worst(i), *since));
}

void tell_dose(const Present& p, Outlook& out) {
  const double counted = p.numbers[CoatNumbers::kBlushHours];
  if (counted > 0) out.blush_dose = p.numbers[CoatNumbers::kBlush] / counted;
  out.condensing = Hours(p.numbers[CoatNumbers::kCondensing]);
  out.under_floor = Hours(p.numbers[CoatNumbers::kUnderFloor]);
}

void tell_trouble(const Present& p, const Moment& moment, Outlook& out) {
  const auto fact = [&](TroubleKind kind, Instant at) { out.trouble.push_back({kind, std::nullopt, at}); };
  if (still_soft(p)) {
    if (p.plan.tack_free >= 0 && out.surface_c && !out.silent_since) {
      const auto& rates = (*p.plan.clocks)[static_cast<std::size_t>(p.plan.tack_free)].rates;
      const auto floor = rates->floor().slow_c;
      if (floor && out.surface_c->expected < *floor) fact(TroubleKind::under_floor, p.now);
    }
    const auto outside_now = [&](ConditionKind kind) {
      return std::any_of(p.plan.conditions.begin(), p.plan.conditions.end(), [&](const ConditionRule& rule) {
        const bool holds = p.now >= rule.from && (rule.until_tack_free || p.now <= rule.to);
        const auto standing = rule.kind == kind && holds ? standing_of(rule, moment) : std::nullopt;
        return standing && standing->outside;
      });
    };
    if (outside_now(ConditionKind::dew_margin)) fact(TroubleKind::dew_margin, p.now);
    if (outside_now(ConditionKind::humidity_most)) fact(TroubleKind::too_damp, p.now);
  }
  if (out.silent_since) fact(TroubleKind::silence, *out.silent_since);
}

/// The air as it was known at the very last of the past.
std::optional<AirPiece> present_air(const Present& p) {
  if (!p.air || !p.air->recorded_upto()) return std::nullopt;
  return p.air->as_left(p.now - Span(1), p.now).back();
}

void tell_present(const Present& p, Outlook& out) {
  Moment moment{p.now, {}, {}, {}};
  const auto piece = present_air(p);
  if (piece && p.numbers[CoatNumbers::kSurfaceKnown] != 0) {
    const Surface s = p.numbers.surface();
    out.surface_c = Bounded<double>{s.lower, s.expected, s.upper};
    const auto measured = measured_surface(p.coat, p.now);
    moment.air_c = measured_at(piece->temperature, *piece, p.now);
    if (piece->humidity) moment.humidity_percent = measured_at(*piece->humidity, *piece, p.now);
    moment.dew = dew_margin_at(*piece, p.now, s, measured ? std::optional(measured->error) : std::nullopt);
  }
  if (moment.dew) {
    out.dew_margin_k = moment.dew->margin.kelvin();
    out.dew_margin_error_k = moment.dew->error.kelvin();
  }
  tell_trouble(p, moment, out);
}

}  // namespace

void CoatRun::run_assumed(const AirHistory& air, Instant now) {
  Instant at = upto();
  while (!finished() && at < now + kFarthest) {
    const Instant end = at + step_after(at - now);
    const auto piece = air.assumed(at, end);
    if (!piece) return;
    run_piece(*case_, *plan_, numbers_, *piece);
    at = end;
  }
}

Outlook CoatRun::outlook(const AirOf& air, Instant now) const {
  Outlook out;
  out.now = now;
  CoatRun known = *this;
  const bool was_finished = finished();
  known.advance(air, now, std::numeric_limits<int>::max());
  known.run_known(air, now);
  CoatRun projected = known;
  const AirHistory* here = air(zone_at(*case_, now));
  if (here) projected.run_assumed(*here, now);

  CoatNumbers numbers(known.numbers_, *plan_), ahead(projected.numbers_, *plan_);
  for (std::size_t c = 0; c < plan_->clocks->size(); ++c)
    out.clocks.push_back(reading_of((*plan_->clocks)[c], c, numbers, ahead));
  const Present present{*case_, *plan_, numbers, now, here};
  if (!known.finished()) {
    out.silent_since =
        here && here->recorded_upto() ? here->silent_since(now) : std::optional(plan_->fast_start);
  }
  tell_outside(present, out);
  tell_dose(present, out);
  if (!was_finished && known.upto() >= now) tell_present(present, out);
  return out;
}

}  // namespace setwell::core
