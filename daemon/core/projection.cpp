#include <algorithm>
#include <chrono>
#include <cmath>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/coat_state.hpp"
#include "daemon/core/full_cure.hpp"
#include "daemon/core/leg.hpp"
#include "daemon/core/overtaken.hpp"

namespace setwell::core {

using quantity::Hours;
using quantity::Instant;
using quantity::Span;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr days kFarthest{60};
/// Beyond this every assumed day is like the one before.
constexpr days kRepeats{3};

/// How far all clocks have come together; the same only if none has moved.
double progress_of(const CoatPlan& plan, const std::vector<double>& raw) {
  std::vector<double> copy = raw;
  CoatNumbers numbers(copy, plan);
  double sum = 0;
  for (std::size_t c = 0; c < plan.clocks->size(); ++c)
    for (const Track track : kAllTracks)
      sum += numbers.progress(c, track);
  return sum;
}

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

/// Three states of one run: what the record alone says, what is known at `now` (its unfinished end held), and
/// what the assumed air ahead would bring.
struct Stages {
  CoatNumbers recorded;
  CoatNumbers known;
  CoatNumbers projected;
};

Bounded<std::optional<Instant>> times_of(Stages& s, std::size_t c) {
  const auto at = [&](Track t) {
    return moment(s.known.reached(c, t) ? s.known.at(c, t) : s.projected.at(c, t));
  };
  return {at(Track::slow), at(Track::expected), at(Track::fast)};
}

/// Nothing is told open on the strength of a value that is only held: the slow clock is there by the record.
ClockReading reading_of(const SheetClock& clock, std::size_t c, Stages& s) {
  ClockReading r;
  r.milestone = clock.milestone;
  r.rule = clock.rule;
  r.basis.insert(clock.one_temperature ? Basis::one_temperature : Basis::table);
  r.no_limit = !clock.comes();
  if (r.no_limit) return r;
  if (clock.learned) r.basis.insert(Basis::learned);
  r.progress = {s.known.progress(c, Track::slow), s.known.progress(c, Track::expected),
                s.known.progress(c, Track::fast)};
  // Minutes of lamp are known without any reading.
  r.reached = {(clock.lamp ? s.known : s.recorded).reached(c, Track::slow),
               s.known.reached(c, Track::expected), s.known.reached(c, Track::fast)};
  r.at = times_of(s, c);
  if (s.projected.silence(c) != 0) r.basis.insert(Basis::silence);
  if (s.projected.assumed(c) != 0) r.basis.insert(Basis::assumed);
  r.expected_at_upper = moment(s.projected.at(c, Track::expected_upper));
  r.likely_at = moment(s.projected.at(c, Track::likely));
  return r;
}

/// A time still ahead of an earlier outlook, as long as it is still ahead.
void keep_ahead(std::optional<Instant>& at, const std::optional<Instant>& earlier, Instant now, bool& holds) {
  if (at) return;
  if (earlier && *earlier <= now) holds = false;
  at = earlier;
}

/// Takes the times ahead from an earlier outlook. Answers whether they still hold: none of them has come
/// without being reached.
bool take_ahead(std::vector<ClockReading>& clocks, const std::vector<ClockReading>& earlier, Instant now) {
  if (clocks.size() != earlier.size()) return false;
  bool holds = true;
  for (std::size_t c = 0; c < clocks.size(); ++c) {
    keep_ahead(clocks[c].at.slow, earlier[c].at.slow, now, holds);
    keep_ahead(clocks[c].at.expected, earlier[c].at.expected, now, holds);
    keep_ahead(clocks[c].at.fast, earlier[c].at.fast, now, holds);
    keep_ahead(clocks[c].expected_at_upper, earlier[c].expected_at_upper, now, holds);
    keep_ahead(clocks[c].likely_at, earlier[c].likely_at, now, holds);
    clocks[c].basis.insert(earlier[c].basis.begin(), earlier[c].basis.end());
  }
  return holds;
}

struct Present {
  const CoatCase& coat;
  const CoatPlan& plan;
  CoatNumbers& numbers;
  Instant now;
  const AirHistory* air;
  SurfaceSource surface;
};

/// Whether full cure is out of reach here. A week that is not known (not a number) keeps nothing from it.
bool too_cool_to_cure(const SheetClock& clock, const ClockReading& reading, double week_c) {
  return clock.last_quarter_c && !reading.reached.slow && week_c < *clock.last_quarter_c;
}

/// Full cure gets words instead of a date where the week was too cool for it.
void tell_full_cure(const SheetClocks& clocks, double week_c, Outlook& out) {
  for (std::size_t c = 0; c < clocks.size(); ++c) {
    ClockReading& reading = out.clocks[c];
    if (!too_cool_to_cure(clocks[c], reading, week_c)) continue;
    reading.not_known = kNotReachedHere;
    reading.at.slow = std::nullopt;
    if (!reading.reached.expected) reading.at.expected = std::nullopt;
  }
}

/// Whether an earlier outlook withheld a date that this one may give, or the other way.
bool withheld_alike(const SheetClocks& clocks, double week_c, const Outlook& earlier, const Outlook& out) {
  if (earlier.clocks.size() != clocks.size()) return false;
  for (std::size_t c = 0; c < clocks.size(); ++c) {
    const bool then = earlier.clocks[c].not_known == kNotReachedHere;
    if (then != too_cool_to_cure(clocks[c], out.clocks[c], week_c)) return false;
  }
  return true;
}

/// Why a clock has no time: too few minutes of lamp.
void tell_waiting(const Present& p, Outlook& out) {
  for (std::size_t c = 0; c < p.plan.clocks->size(); ++c) {
    const SheetClock& clock = (*p.plan.clocks)[c];
    if (!clock.lamp || out.clocks[c].at.slow) continue;
    out.clocks[c].not_known =
        waits_for_lamp(p.coat.coat.made.lamp, lamp_needed_min(p.plan, clock, Track::slow));
  }
}

void tell_outside(const Present& p, Outlook& out) {
  for (std::size_t i = 0; i < p.plan.conditions.size(); ++i) {
    const auto since = moment(p.numbers.since(i));
    if (!since) continue;
    out.outside.push_back(told(p.plan.conditions[i], p.numbers.worst(i), *since));
    if (p.numbers.last(i) < p.numbers[CoatNumbers::kUpto])
      out.outside.back().until = moment(p.numbers.last(i));
  }
}

void tell_dose(const Present& p, Outlook& out) {
  const double counted = p.numbers[CoatNumbers::kBlushHours];
  if (counted > 0) out.blush_dose = p.numbers[CoatNumbers::kBlush] / counted;
  out.condensing = Hours(p.numbers[CoatNumbers::kCondensing]);
  out.under_floor = Hours(p.numbers[CoatNumbers::kUnderFloor]);
}

void tell_trouble(const Present& p, const Moment& moment, Outlook& out) {
  const auto fact = [&](TroubleKind kind, Instant at) { out.trouble.push_back({kind, std::nullopt, at}); };
  if (soft(p.plan, p.numbers)) {
    const auto floor = soft_floor_c(p.plan);
    if (floor && out.surface_c && !out.silent_since && out.surface_c->expected < *floor)
      fact(TroubleKind::under_floor, p.now);
    const auto outside_now = [&](ConditionKind kind) {
      return std::any_of(p.plan.conditions.begin(), p.plan.conditions.end(), [&](const ConditionRule& rule) {
        const bool asked = rule.kind == kind && holds(p.plan, p.numbers, rule, p.now);
        const auto standing = asked ? standing_of(rule, moment) : std::nullopt;
        return standing && standing->outside;
      });
    };
    if (outside_now(ConditionKind::dew_margin)) fact(TroubleKind::dew_margin, p.now);
    if (outside_now(ConditionKind::humidity_most)) fact(TroubleKind::too_damp, p.now);
  }
  if (out.silent_since) fact(TroubleKind::silence, *out.silent_since);
}

/// What holds already needs no chance.
void add_chance(const Trouble& trouble, std::vector<Trouble>& told) {
  const bool known =
      std::any_of(told.begin(), told.end(), [&](const Trouble& each) { return each.kind == trouble.kind; });
  if (!known) told.push_back(trouble);
}

void keep_chances(const std::vector<Trouble>& earlier, std::vector<Trouble>& told) {
  for (const auto& trouble : earlier) {
    if (trouble.chance) add_chance(trouble, told);
  }
}

/// The widest dew margin that is asked for while a coat is soft, by the rules that hold at `now`.
std::optional<double> dew_margin_asked(const CoatPlan& plan, Instant now) {
  std::optional<double> asked;
  for (const auto& rule : plan.conditions) {
    const bool asks = rule.ends == PhaseEnd::tack_free || (rule.ends == PhaseEnd::at_a_time && now < rule.to);
    if (rule.kind == ConditionKind::dew_margin && asks)
      asked = std::max(asked.value_or(rule.bound), rule.bound);
  }
  return asked;
}

void tell_chances(const Present& p, const Forecast& forecast, Outlook& out) {
  if (p.plan.tack_free < 0) return;
  const auto index = static_cast<std::size_t>(p.plan.tack_free);
  const auto& clock = (*p.plan.clocks)[index];
  if (!clock.rates || p.numbers.reached(index, Track::expected)) return;
  SoftCoat soft;
  soft.tack_free = &*clock.rates;
  soft.rate_factor = p.plan.film.expected * clock.load.expected;
  soft.progress = p.numbers.progress(index, Track::expected);
  soft.surface_c = out.surface_c->expected;
  soft.tau_s = p.plan.tau_s;
  soft.floor_c = clock.rates->floor().slow_c;
  soft.dew_margin_k = dew_margin_asked(p.plan, p.now);
  for (const auto& trouble : overtaken(soft, forecast, p.now))
    add_chance(trouble, out.trouble);
}

/// How a coat begun on this air stands to its sheet, the middle of the air taken.
void tell_start(const Present& p, const AirPiece& air, Outlook& out) {
  Moment moment{p.now, measured_at(air.temperature, air, p.now), {}, {}};
  if (air.humidity) moment.humidity_percent = measured_at(*air.humidity, air, p.now);
  const auto& from = p.coat.coat.made.piece_from;
  const double surface = from ? from->degrees() : moment.air_c.value_or(std::nan(""));
  out.surface_c = Bounded<double>{surface, surface, surface};
  moment.dew = dew_margin_at(air, p.now, {surface, surface, surface}, std::nullopt);
  if (moment.dew) {
    out.dew_margin_k = moment.dew->margin.kelvin();
    out.dew_margin_error_k = moment.dew->error.kelvin();
  }
  for (const auto& rule : p.plan.conditions) {
    const auto standing = standing_of(rule, moment);
    if (standing && standing->outside) out.outside.push_back(told(rule, standing->value, p.now));
  }
}

/// Whether the forecast reaches to where the middle clock is tack-free.
bool counted_to_the_end(const Present& p, const Forecast& forecast, const Outlook& out) {
  if (p.plan.tack_free < 0) return false;
  const auto& tack_free = out.clocks[static_cast<std::size_t>(p.plan.tack_free)].at.expected;
  return tack_free && !forecast.steps.empty() && *tack_free <= forecast.steps.back().at;
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
    const auto measured = measured_surface(p.coat, p.surface, p.now);
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

void CoatRun::run_ahead(const AirHistory* air, const Forecast* forecast, Instant now, Span farthest) {
  Instant at = upto();
  // The assumed air repeats itself day by day: what has not moved in one of them never will.
  Instant look = now + kRepeats + days(1);
  double before = progress_of(*plan_, numbers_);
  while (!finished() && at < now + farthest) {
    if (at >= look) {
      const double after = progress_of(*plan_, numbers_);
      if (after == before) return;
      before = after;
      look = at + days(1);
    }
    const Instant end = at + step_after(at - now);
    auto piece = forecast ? foretold(*forecast, at, end) : std::nullopt;
    if (!piece && air) piece = air->assumed(at, end);
    if (!piece) return;
    run_piece(*case_, *plan_, numbers_, *piece, {}, Closeness::assumed);
    at = end;
  }
}

Outlook CoatRun::outlook(const AirOf& air, Instant now, const Outlook* earlier,
                         const Forecast* forecast) const {
  Outlook out;
  out.now = now;
  CoatRun recorded = *this;
  const bool was_finished = finished();
  recorded.advance(air, now, std::numeric_limits<int>::max());
  CoatRun known = recorded;
  known.run_known(air, now);
  CoatRun projected = known;
  const AirHistory* here = air(zone_at(*case_, now));
  const auto tell_clocks = [&] {
    Stages stages{{recorded.numbers_, *plan_}, {known.numbers_, *plan_}, {projected.numbers_, *plan_}};
    out.clocks.clear();
    for (std::size_t c = 0; c < plan_->clocks->size(); ++c)
      out.clocks.push_back(reading_of((*plan_->clocks)[c], c, stages));
  };
  const double week_c =
      (here && !was_finished ? week_mean_c(*here, now) : std::nullopt).value_or(std::nan(""));
  if (earlier != nullptr) tell_clocks();
  const bool anew = earlier == nullptr || !withheld_alike(*plan_->clocks, week_c, *earlier, out) ||
                    !take_ahead(out.clocks, earlier->clocks, now);
  if (anew) {
    projected.run_ahead(here, forecast, now, kFarthest);
    tell_clocks();
  }

  tell_full_cure(*plan_->clocks, week_c, out);
  CoatNumbers numbers(known.numbers_, *plan_);
  const Present present{*case_, *plan_, numbers,
                        now,    here,   surface_source(*case_, air, now, now, SurfaceHistory::Past::held)};
  if (!air_is_done(*plan_, known.numbers_)) {
    out.silent_since =
        here && here->recorded_upto() ? here->silent_since(now) : std::optional(plan_->fast_start);
  }
  tell_waiting(present, out);
  tell_outside(present, out);
  tell_dose(present, out);
  if (!was_finished && known.upto() >= now) tell_present(present, out);
  if (!anew) {
    keep_chances(earlier->trouble, out.trouble);
  } else if (forecast && out.surface_c) {
    tell_chances(present, *forecast, out);
  }
  return out;
}

Outlook CoatRun::foreseen(const AirHistory* air, const Forecast* forecast, Span farthest) const {
  Outlook out;
  out.now = upto();
  CoatRun fresh = *this;
  CoatRun projected = *this;
  projected.run_ahead(air, forecast, out.now, farthest);
  const CoatNumbers numbers(fresh.numbers_, *plan_);
  Stages stages{numbers, numbers, {projected.numbers_, *plan_}};
  for (std::size_t c = 0; c < plan_->clocks->size(); ++c)
    out.clocks.push_back(reading_of((*plan_->clocks)[c], c, stages));
  CoatNumbers begun(fresh.numbers_, *plan_);
  const Present present{*case_, *plan_, begun, out.now, air, {}};
  tell_waiting(present, out);
  const auto first = out.now + minutes(1);
  auto piece = forecast ? foretold(*forecast, out.now, first) : std::nullopt;
  if (!piece && air) piece = air->assumed(out.now, first);
  if (!piece) return out;
  tell_start(present, *piece, out);
  if (forecast && counted_to_the_end(present, *forecast, out)) tell_chances(present, *forecast, out);
  return out;
}

}  // namespace setwell::core
