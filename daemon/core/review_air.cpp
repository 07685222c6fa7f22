#include "daemon/core/review_air.hpp"

#include <algorithm>
#include <cmath>

namespace setwell::core {

using quantity::Instant;
using quantity::Span;

namespace {

constexpr Span kLongestStep = std::chrono::minutes(10);
/// A form nobody described: a steel cup on a peg.
constexpr quantity::Minutes kUnknownLag{6.6};
/// A hand reading of the surface counts this long.
constexpr Span kReadingLasts = std::chrono::minutes(30);
constexpr Span kApplyingLasts = std::chrono::minutes(30);

double at_share(const Stretch& stretch, double share) {
  return stretch.from + (stretch.to - stretch.from) * share;
}

/// Walks through the record and carries the surface along.
class Walk {
 public:
  Walk(const CaseFile& file, const Piece& piece, const Coat& coat) : piece_(piece), coat_(coat) {
    const auto form = file.forms.find(piece.made.form);
    const auto lag = form == file.forms.end() ? std::nullopt : form->second.lag;
    tau_s_ = quantity::Seconds(lag.value_or(kUnknownLag)).count();
  }

  void stay(const AirHistory* history, Instant from, Instant to) {
    const auto upto = history == nullptr ? std::nullopt : history->recorded_upto();
    if (!upto || *upto <= from) return silence(from, to);
    for (const auto& piece : history->pieces(from, std::min(to, *upto)))
      take(piece);
    if (to > *upto) silence(*upto, to);
  }

  std::vector<AirStep> take_steps() { return std::move(steps_); }

 private:
  void silence(Instant from, Instant to) {
    if (to <= from) return;
    AirStep step;
    step.from = from;
    step.to = to;
    step.silent = true;
    steps_.push_back(step);
    surface_.reset();
  }

  void take(const AirPiece& piece) {
    if (piece.temperature.silent) return silence(piece.from, piece.to);
    const auto whole = piece.to - piece.from;
    const auto count = std::max<std::int64_t>(1, (whole + kLongestStep - Span(1)) / kLongestStep);
    for (std::int64_t i = 0; i < count; ++i) {
      const double a = static_cast<double>(i) / static_cast<double>(count);
      const double b = static_cast<double>(i + 1) / static_cast<double>(count);
      step(piece, piece.from + whole * i / count, piece.from + whole * (i + 1) / count, a, b);
    }
  }

  void step(const AirPiece& piece, Instant from, Instant to, double a, double b) {
    const double start = at_share(piece.temperature, a);
    const double end = at_share(piece.temperature, b);
    const double error = piece.temperature.error;
    const double seconds = quantity::Seconds(to - from).count();
    if (seconds <= 0) return;
    if (!surface_) surface_ = first_surface(start, error);
    if (const auto read = surface_read(from)) surface_ = *read;
    const auto path = follow_air(*surface_, {start - error, start, start + error, (end - start) / seconds},
                                 tau_s_, seconds);
    surface_ = path.all().back().at_end();
    AirStep done;
    done.from = from;
    done.to = to;
    done.air_c = end;
    done.surface = *surface_;
    if (piece.humidity && !piece.humidity->silent)
      moisten(done, at_share(*piece.humidity, b), error, piece.humidity->error);
    steps_.push_back(done);
  }

  static void moisten(AirStep& step, double percent, double error_k, double error_pct) {
    const auto humidity = quantity::RelativeHumidity::from_percent(percent);
    const auto air = quantity::Celsius::from(step.air_c);
    const auto surface = quantity::Celsius::from(step.surface.expected);
    if (!humidity || !air || !surface) return;
    step.humidity_pct = percent;
    if (const auto dew = air::dew_point(*air, *humidity)) step.dew_point_c = dew->degrees();
    step.margin = air::dew_margin(*air, *humidity, *surface, {quantity::CelsiusDelta(error_k), error_pct},
                                  air::SurfaceFrom::same_sensor);
  }

  [[nodiscard]] Surface first_surface(double air, double error) const {
    if (steps_.empty() && coat_.made.piece_from) {
      const double cold = coat_.made.piece_from->degrees();
      return {cold, cold, cold};
    }
    return {air - error, air, air + error};
  }

  [[nodiscard]] std::optional<Surface> surface_read(Instant at) const {
    for (const auto& reading : piece_.surface_readings) {
      if (!reading.body.surface || at < reading.happened || at - reading.happened >= kReadingLasts) continue;
      const double value = reading.body.surface->degrees();
      const double error = reading.body.temperature_error.kelvin();
      return Surface{value - error, value, value + error};
    }
    return std::nullopt;
  }

  const Piece& piece_;
  const Coat& coat_;
  double tau_s_ = 0;
  std::optional<Surface> surface_;
  std::vector<AirStep> steps_;
};

Instant ends_by(const ConditionRule& rule, const Coat& coat, const FilmTimes& film) {
  if (rule.ends == PhaseEnd::tack_free) return std::max(film.tack_free, rule.from);
  if (rule.ends == PhaseEnd::flash_off) return std::max(film.flash_off, rule.from);
  const bool applying = rule.to - rule.from < kApplyingLasts && rule.to <= coat.made.last_pass;
  return applying ? rule.from + kApplyingLasts : rule.to;
}

}  // namespace

Moment AirStep::moment() const {
  Moment moment;
  moment.at = to;
  moment.air_c = air_c;
  moment.humidity_percent = humidity_pct;
  moment.dew = margin;
  return moment;
}

std::vector<AirStep> air_about(const CaseFile& file, const Piece& piece, const Coat& coat, Instant from,
                               Instant to) {
  Walk walk(file, piece, coat);
  Instant at = from;
  for (std::size_t i = 0; i < piece.stays.size() && at < to; ++i) {
    const bool last = i + 1 == piece.stays.size();
    if (!last && piece.stays[i + 1].since <= at) continue;
    const Instant until = last ? to : std::min(to, piece.stays[i + 1].since);
    walk.stay(file.air(piece.stays[i].zone), at, until);
    at = until;
  }
  if (at < to) walk.stay(nullptr, at, to);
  return walk.take_steps();
}

void Extent::take(double value) {
  least = std::min(least.value_or(value), value);
  most = std::max(most.value_or(value), value);
}

PhaseFacts phase_facts(const std::vector<AirStep>& steps, std::string phase, Instant from, Instant to,
                       bool ended) {
  PhaseFacts facts;
  facts.phase = std::move(phase);
  facts.from = from;
  facts.to = to;
  facts.ended = ended;
  double recorded = 0;
  for (const auto& step : steps) {
    if (step.to <= from || step.from >= to) continue;
    if (step.silent) continue;
    recorded += quantity::hours_between(std::max(step.from, from), std::min(step.to, to)).count();
    facts.air_c.take(step.air_c);
    facts.surface_c.take(step.surface.expected);
    if (step.humidity_pct) facts.humidity_pct.take(*step.humidity_pct);
    if (step.margin) facts.dew_margin_k.take(step.margin->margin.kelvin());
  }
  facts.silent_h = std::max(0.0, facts.hours() - recorded);
  return facts;
}

std::vector<OutsideFacts> outside_facts(const std::vector<AirStep>& steps, const Material& material,
                                        const Coat& coat, const FilmTimes& film) {
  std::vector<OutsideFacts> all;
  for (const auto& rule : conditions_of(material, coat.made.first_pass, coat.made.last_pass)) {
    OutsideFacts facts{rule, 0, 0, 0};
    facts.rule.to = ends_by(rule, coat, film);
    bool first = true;
    for (const auto& step : steps) {
      if (step.silent || step.to <= rule.from || step.from >= facts.rule.to) continue;
      const auto standing = standing_of(rule, step.moment());
      if (!standing) continue;
      facts.of_hours += step.hours();
      if (standing->outside) facts.hours += step.hours();
      if (first || worse(rule, standing->value, facts.worst)) facts.worst = standing->value;
      first = false;
    }
    all.push_back(facts);
  }
  return all;
}

}  // namespace setwell::core
