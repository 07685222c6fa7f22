#include "daemon/core/coat_state.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include "daemon/core/blush.hpp"
#include "daemon/core/film.hpp"
#include "daemon/core/leg.hpp"

namespace setwell::core {

using quantity::Instant;
using quantity::Seconds;

namespace {

constexpr double kNotYet = std::numeric_limits<double>::quiet_NaN();
// Beyond the stated rows by more than this a figure rests on the prior alone.
constexpr double kFarFromRows = 10.0;

int index_of(const SheetClocks& clocks, Milestone milestone) {
  for (std::size_t i = 0; i < clocks.size(); ++i)
    if (clocks[i].milestone == milestone && clocks[i].comes()) return static_cast<int>(i);
  return -1;
}

/// The clock that stands for "still soft" where a sheet states no tack-free time.
int soft_until(const SheetClocks& clocks) {
  for (const Milestone m : {Milestone::tack_free, Milestone::sandable, Milestone::handling,
                            Milestone::recoat_opens, Milestone::packing, Milestone::full_cure})
    if (const int i = index_of(clocks, m); i >= 0) return i;
  return -1;
}

std::vector<Instant> cuts_of(const CoatPlan& plan, const CoatCase& coat) {
  std::vector<Instant> cuts{plan.expected_start, plan.slow_start};
  if (coat.covered) cuts.push_back(*coat.covered);
  for (const Event<HandReading>& r : coat.surface_readings) {
    cuts.push_back(r.happened);
    cuts.push_back(r.happened + std::chrono::minutes(30));
  }
  for (const ConditionRule& rule : plan.conditions) {
    cuts.push_back(rule.from);
    cuts.push_back(rule.to);
  }
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
  return cuts;
}

void note_basis(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg, const Surface& end) {
  for (std::size_t c = 0; c < plan.clocks->size(); ++c) {
    const SheetClock& clock = (*plan.clocks)[c];
    if (!clock.rates || numbers.reached(c, Track::slow)) continue;
    if (leg.blind || leg.humidity_blind) numbers.silence(c) = 1;
    const CureFloor& floor = clock.rates->floor();
    const bool floor_assumed = floor.assumed && floor.slow_c && end.lower < *floor.slow_c;
    const bool far =
        end.expected < clock.coldest_c - kFarFromRows || end.expected > clock.warmest_c + kFarFromRows;
    if (floor_assumed || far || leg.humidity_assumed) numbers.assumed(c) = 1;
  }
}

/// Whether the solvent or water of a film is surely not out yet.
bool flashing(const CoatPlan& plan, CoatNumbers& numbers) {
  if (plan.flash_off < 0) return soft(plan, numbers);
  return !numbers.reached(static_cast<std::size_t>(plan.flash_off), Track::slow);
}

/// The humidity at the surface as a ratio; nothing where the record does not tell.
std::optional<double> surface_ratio(const Moment& moment, double surface_c) {
  if (!moment.air_c || !moment.humidity_percent) return std::nullopt;
  return air::surface_humidity(
      quantity::Celsius(*moment.air_c),
      quantity::RelativeHumidity::percent(std::clamp(*moment.humidity_percent, 0.0, 105.0)),
      quantity::Celsius(surface_c));
}

/// What happens to a coat that is not yet tack-free.
void watch_soft(const CoatCase& coat, const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg,
                const Moment& moment) {
  const double hours = leg.seconds() / 3600.0;
  if (const auto floor = soft_floor_c(plan); floor && !leg.blind && numbers[CoatNumbers::kExpected] < *floor)
    numbers[CoatNumbers::kUnderFloor] += hours;
  const double surface = numbers[CoatNumbers::kExpected];
  const double ratio = surface_ratio(moment, surface).value_or(0.0);
  if ((moment.dew && moment.dew->margin.kelvin() < 0) || ratio >= kWetSurfaceRatio)
    numbers[CoatNumbers::kCondensing] += hours;
  if (coat.material->family != Family::epoxy || ratio <= 0) return;
  numbers[CoatNumbers::kBlush] += blush_weight(ratio, surface) * hours;
  numbers[CoatNumbers::kBlushHours] += hours;
}

void watch_conditions(const CoatPlan& plan, CoatNumbers& numbers, const Moment& moment) {
  for (std::size_t i = 0; i < plan.conditions.size(); ++i) {
    const ConditionRule& rule = plan.conditions[i];
    if (!holds(plan, numbers, rule, moment.at)) continue;
    const auto standing = standing_of(rule, moment);
    if (!standing || !standing->outside) continue;
    if (std::isnan(numbers.since(i))) numbers.since(i) = number(moment.at);
    numbers.last(i) = number(moment.at);
    if (std::isnan(numbers.worst(i)) || worse(rule, standing->value, numbers.worst(i)))
      numbers.worst(i) = standing->value;
  }
}

Moment moment_at(const AirPiece& piece, const Leg& leg, Instant at, const Surface& surface) {
  Moment moment{at, measured_at(piece.temperature, piece, at), {}, {}};
  if (piece.humidity) moment.humidity_percent = measured_at(*piece.humidity, piece, at);
  moment.dew = dew_margin_at(piece, at, surface, leg.probe ? std::optional(leg.probe_error) : std::nullopt);
  return moment;
}

/// Whether anything still asks about the air: most of a coat's life nothing does, and dew points cost.
bool watched(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg) {
  if (soft(plan, numbers)) return true;
  return std::any_of(plan.conditions.begin(), plan.conditions.end(), [&](const ConditionRule& r) {
    return r.ends != PhaseEnd::tack_free && holds(plan, numbers, r, std::max(leg.from, r.from));
  });
}

void one_leg(const CoatCase& coat, const CoatPlan& plan, CoatNumbers& numbers, const AirPiece& piece,
             const SurfaceSource& surface, Instant from, Instant to, Closeness closeness) {
  const Leg leg = leg_of(coat, plan, numbers, piece, surface, from, to);
  const bool look = watched(plan, numbers, leg);
  if (look && from == plan.fast_start) {
    const SurfaceSection& begin = leg.sections.all().front();
    watch_conditions(plan, numbers, moment_at(piece, leg, from, leg.surface_at(begin, 0)));
  }
  const Surface end = run_leg(plan, numbers, leg, closeness);
  run_lamp(plan, numbers, to);
  note_basis(plan, numbers, leg, end);
  numbers.set_surface(end);
  if (look) {
    const Moment moment = moment_at(piece, leg, to, numbers.surface());
    watch_conditions(plan, numbers, moment);
    if (soft(plan, numbers)) watch_soft(coat, plan, numbers, leg, moment);
  }
  numbers[CoatNumbers::kUpto] = number(to);
}

}  // namespace

CoatPlan plan_of(const CoatCase& coat) {
  const Material& material = *coat.material;
  const CoatMade& made = coat.coat.made;
  CoatPlan plan;
  plan.clocks = coat.clocks ? coat.clocks
                            : clocks_of(material, made.load, coat.strictness,
                                        coat.priors ? *coat.priors : built_in_priors(), coat.learned);
  plan.film = film_factors(material.family, film_of(material, made, coat.area), material.reference_film);
  plan.conditions = conditions_of(material, made.first_pass, made.last_pass);
  plan.fast_start = made.first_pass - coat.coat.error;
  plan.expected_start = made.last_pass;
  plan.slow_start = made.last_pass + coat.coat.error;
  if (dries_through_surface(material.family)) plan.covered = coat.covered;
  if (made.lamp) plan.lamp_ms = std::round(made.lamp->count() * 60'000.0);
  plan.humidity_matters = humidity_matters(material.family);
  plan.tau_s = Seconds(coat.lag).count();
  plan.tack_free = soft_until(*plan.clocks);
  plan.flash_off = index_of(*plan.clocks, Milestone::flash_off_over);
  plan.cuts = cuts_of(plan, coat);
  return plan;
}

std::vector<double> fresh_numbers(const CoatPlan& plan) {
  std::vector<double> raw(CoatNumbers::size(plan), 0.0);
  CoatNumbers numbers(raw, plan);
  numbers[CoatNumbers::kUpto] = number(plan.fast_start);
  for (std::size_t i = 0; i < plan.conditions.size(); ++i)
    numbers.worst(i) = numbers.since(i) = numbers.last(i) = kNotYet;
  for (std::size_t c = 0; c < plan.clocks->size(); ++c)
    for (const Track track : kAllTracks)
      numbers.at(c, track) = kNotYet;
  return raw;
}

bool soft(const CoatPlan& plan, CoatNumbers& numbers) {
  return plan.tack_free < 0 || !numbers.reached(static_cast<std::size_t>(plan.tack_free), Track::slow);
}

bool holds(const CoatPlan& plan, CoatNumbers& numbers, const ConditionRule& rule, Instant at) {
  if (at < rule.from) return false;
  switch (rule.ends) {
    case PhaseEnd::at_a_time:
      return at <= rule.to;
    case PhaseEnd::tack_free:
      return soft(plan, numbers);
    case PhaseEnd::flash_off:
      return flashing(plan, numbers);
  }
  return false;
}

std::optional<double> soft_floor_c(const CoatPlan& plan) {
  if (plan.tack_free < 0) return std::nullopt;
  const auto& rates = (*plan.clocks)[static_cast<std::size_t>(plan.tack_free)].rates;
  return rates ? rates->floor().slow_c : std::nullopt;
}

bool air_is_done(const CoatPlan& plan, const std::vector<double>& numbers) {
  const std::size_t first = CoatNumbers::first_clock(plan);
  for (std::size_t c = 0; c < plan.clocks->size(); ++c)
    if ((*plan.clocks)[c].rates && numbers[first + CoatNumbers::kPerClock * c] < 1.0) return false;
  return true;
}

bool all_reached(const CoatPlan& plan, const std::vector<double>& numbers) {
  const bool counts = std::any_of(plan.clocks->begin(), plan.clocks->end(),
                                  [](const SheetClock& clock) { return clock.lamp.has_value(); });
  const double upto = numbers[CoatNumbers::kUpto];
  // What a sheet asks of the air for a day counts for that day, however fast the coat is.
  const bool watched = std::any_of(
      plan.conditions.begin(), plan.conditions.end(),
      [&](const ConditionRule& rule) { return rule.ends == PhaseEnd::at_a_time && upto < number(rule.to); });
  const bool lit = counts && upto < number(plan.slow_start) + plan.lamp_ms;
  return !lit && !watched && air_is_done(plan, numbers);
}

void run_piece(const CoatCase& coat, const CoatPlan& plan, std::vector<double>& raw, const AirPiece& piece,
               const SurfaceSource& surface, Closeness closeness) {
  CoatNumbers numbers(raw, plan);
  Instant from = piece.from;
  const auto run_upto = [&](Instant to) {
    one_leg(coat, plan, numbers, piece, surface, from, to, closeness);
    from = to;
  };
  auto cut = std::upper_bound(plan.cuts.begin(), plan.cuts.end(), from);
  const auto run_cuts_before = [&](Instant end) {
    for (; cut != plan.cuts.end() && *cut < end; ++cut)
      run_upto(*cut);
  };
  if (surface.history != nullptr) {
    for (const Instant reading : surface.history->within(from, piece.to, surface.seen)) {
      run_cuts_before(reading);
      if (cut == plan.cuts.end() || *cut != reading) run_upto(reading);
    }
  }
  run_cuts_before(piece.to);
  run_upto(piece.to);
}

}  // namespace setwell::core
