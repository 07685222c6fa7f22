#include "daemon/core/forecast_room.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/core/plain_bytes.hpp"
#include "sensors/air/saturation.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t kFewestPaths = 10;
constexpr std::size_t kPathsForBands = 40;
/// So many errors, one every third hour, are three days of them.
constexpr int kErrorsForSkill = 24;

/// The course of one quantity from the issue on, an hour a step.
struct Course {
  std::vector<double> median;
  Spreads spreads;
  double age = 0;  ///< h since the value it starts from was told
  [[nodiscard]] Band band(std::size_t step) const {
    const Spread s = spreads.spread(static_cast<double>(step) + age);
    const double m = median[step];
    return {m + s.p5, m + s.p25, m, m + s.p75, m + s.p95};
  }
};

double between(double a, double b, double f) {
  return a + (b - a) * f;
}

/// The course from `part` of an hour behind the last one taken. What the air did since shifts it, less and
/// less with time.
Course course_of(const RoomForecaster& room, AirQuantity quantity, double part, double now) {
  Course course;
  const auto& series = room.series();
  const ForecastView view(series, quantity, series.last());
  if (!view.any()) return course;
  const auto ahead = room.learner().foretell(quantity, kForecastHours + 1);
  const auto at = [&](double h) {
    const auto low = static_cast<std::size_t>(h);
    const double here = low == 0 ? view.now() : ahead[low - 1].median;
    return low >= ahead.size() ? here : between(here, ahead[low].median, h - std::floor(h));
  };
  const bool told = !std::isnan(now);
  const double shift = told ? now - at(part) : 0.0;
  course.age = told ? 0.0 : static_cast<double>(view.age()) + part;
  course.spreads = room.spreads(quantity);
  for (int step = 0; step <= kForecastHours; ++step) {
    const double carried = step == 0 ? 1.0 : ahead[static_cast<std::size_t>(step) - 1].carried;
    course.median.push_back(view.bounded(at(step + part) + shift * std::clamp(carried, 0.0, 1.0)));
  }
  return course;
}

bool complete(const KnotValues& errors) {
  return std::none_of(errors.begin(), errors.end(), [](float error) { return std::isnan(error); });
}

std::vector<float> path_of(const Course& course, const KnotValues& errors, bool percent) {
  std::vector<float> path;
  for (std::size_t step = 0; step < course.median.size(); ++step) {
    const double value = course.median[step] + error_at(errors, static_cast<double>(step) + course.age);
    path.push_back(static_cast<float>(percent ? std::clamp(value, 0.0, 100.0) : value));
  }
  return path;
}

std::vector<ForecastPath> paths_of(const RoomForecaster& room, const Course& air, const Course& damp) {
  const auto kelvin = room.log().errors(room.series(), AirQuantity::temperature);
  const auto percent = room.log().errors(room.series(), AirQuantity::humidity);
  std::vector<ForecastPath> paths;
  for (std::size_t i = 0; i < kelvin.size(); ++i) {
    if (!complete(kelvin[i]) || (!damp.median.empty() && !complete(percent[i]))) continue;
    ForecastPath path{path_of(air, kelvin[i], false), {}};
    if (!damp.median.empty()) path.humidity_pct = path_of(damp, percent[i], true);
    paths.push_back(std::move(path));
  }
  if (paths.size() < kFewestPaths) paths.clear();
  return paths;
}

double nth(std::vector<double>& sorted, double share) {
  return sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1) + 0.5)];
}

/// Vapour pressure goes with both quantities at once, so its band comes from the paths where there are
/// enough.
Band vapour_band(const ForecastStep& step, const std::vector<ForecastPath>& paths, std::size_t index) {
  const double air = step.air_c.median;
  const Band& damp = *step.humidity_pct;
  const double median = air::vapour_pa(air, damp.median);
  if (paths.size() < kPathsForBands)
    return {air::vapour_pa(air, damp.p5), air::vapour_pa(air, damp.p25), median,
            air::vapour_pa(air, damp.p75), air::vapour_pa(air, damp.p95)};
  std::vector<double> values;
  for (const auto& path : paths)
    values.push_back(air::vapour_pa(path.air_c[index], path.humidity_pct[index]));
  std::sort(values.begin(), values.end());
  return {std::min(median, nth(values, 0.05)), std::min(median, nth(values, 0.25)), median,
          std::max(median, nth(values, 0.75)), std::max(median, nth(values, 0.95))};
}

Band within_percent(Band band) {
  for (double* value : {&band.p5, &band.p25, &band.median, &band.p75, &band.p95})
    *value = std::clamp(*value, 0.0, 100.0);
  return band;
}

}  // namespace

KnotValues at_band_knots(const std::vector<Foretold>& hours) {
  KnotValues out{};
  for (std::size_t i = 0; i < out.size(); ++i) {
    const auto h = static_cast<std::size_t>(kBandKnots[i]);
    out[i] = h <= hours.size() ? static_cast<float>(hours[h - 1].median) : static_cast<float>(kNothing);
  }
  return out;
}

double moved_lately(const HourSeries& series, AirQuantity quantity) {
  double least = std::numeric_limits<double>::infinity();
  double most = -least;
  for (HourIndex hour = series.last() - 47; hour <= series.last(); ++hour) {
    const double value = series.value(quantity, hour);
    if (std::isnan(value)) continue;
    least = std::min(least, value);
    most = std::max(most, value);
  }
  return most < least ? 0.0 : most - least;
}

void RoomForecaster::take(HourIndex hour, const HourValue& value) {
  const auto silent = static_cast<float>(kNothing);
  const HourIndex kept = HourSeries::kKept;
  HourIndex from = series().empty() ? hour : series().last() + 1;
  if (hour > from + kept) from = hour;
  for (HourIndex at = from; at <= hour; ++at) {
    learner_.take(at, at == hour ? value : HourValue{silent, silent});
    const auto ahead = [&](AirQuantity q) { return at_band_knots(learner_.foretell(q, kForecastHours)); };
    if (at % IssueLog::kEvery == 0)
      log_.add(at, ahead(AirQuantity::temperature), ahead(AirQuantity::humidity));
  }
  if (std::isnan(value.celsius)) return;
  if (learned_ == 0) since_ = hour;
  ++learned_;
}

Spreads RoomForecaster::spreads(AirQuantity quantity) const {
  return spreads_of(log_.errors(series(), quantity), quantity, moved_lately(series(), quantity));
}

std::optional<double> RoomForecaster::skill(std::size_t band_knot) const {
  const int h = kBandKnots[band_knot];
  const auto errors = log_.errors(series(), AirQuantity::temperature);
  std::array<double, kPlainWays> plain{};
  double ours = 0;
  int count = 0;
  for (std::size_t i = 0; i < errors.size(); ++i) {
    const HourIndex hour = log_.issues()[i].hour;
    const double told = series().value(AirQuantity::temperature, hour + h);
    const ForecastView view(series(), AirQuantity::temperature, hour);
    if (std::isnan(errors[i][band_knot]) || !view.any()) continue;
    ours += std::fabs(errors[i][band_knot]);
    for (std::size_t way = 0; way < kPlainWays; ++way)
      plain[way] += std::fabs(view.plain(way, h) - told);
    ++count;
  }
  const double best = *std::min_element(plain.begin(), plain.end());
  if (count < kErrorsForSkill || best <= 0) return std::nullopt;
  return ours / best;
}

ForecastBasis RoomForecaster::basis() const {
  ForecastBasis basis;
  basis.learning_since = moment_of(since_);
  basis.learned = quantity::Hours(static_cast<double>(learned_));
  basis.wide = spreads(AirQuantity::temperature).general;
  const auto weights = learner_.weights(AirQuantity::temperature, 2);
  double plain = 0;
  for (std::size_t way = 0; way < kPlainWays; ++way)
    plain += weights[way];
  basis.method = plain < 0.5 ? ForecastMethod::blend : ForecastMethod::naive;
  basis.skill_6h = skill(3);
  basis.skill_24h = skill(7);
  return basis;
}

std::optional<Forecast> RoomForecaster::forecast(Instant issued, const HourValue& now) const {
  if (series().empty()) return std::nullopt;
  const double part =
      std::clamp(quantity::hours_between(moment_of(series().last()), issued).count(), 0.0, 1.0);
  const Course air = course_of(*this, AirQuantity::temperature, part, now.celsius);
  const Course damp = course_of(*this, AirQuantity::humidity, part, now.percent);
  if (air.median.empty()) return std::nullopt;
  Forecast out;
  out.issued = issued;
  out.basis = basis();
  out.paths = paths_of(*this, air, damp);
  for (std::size_t step = 0; step < air.median.size(); ++step) {
    ForecastStep next;
    next.at = issued + std::chrono::hours(step);
    next.air_c = air.band(step);
    if (!damp.median.empty()) {
      next.humidity_pct = within_percent(damp.band(step));
      next.vapour_pa = vapour_band(next, out.paths, step);
    }
    out.steps.push_back(next);
  }
  return out;
}

std::string RoomForecaster::save() const {
  std::string bytes;
  put_bytes(bytes, since_);
  put_bytes(bytes, learned_);
  log_.save(bytes);
  return bytes + learner_.save();
}

std::optional<RoomForecaster> RoomForecaster::load(std::string_view bytes, const ForecastPrior& prior) {
  RoomForecaster room(prior);
  if (!take_bytes(bytes, room.since_) || !take_bytes(bytes, room.learned_) || !room.log_.load(bytes))
    return std::nullopt;
  auto learner = ForecastLearner::load(bytes, prior);
  if (!learner) return std::nullopt;
  room.learner_ = std::move(*learner);
  return room;
}

}  // namespace setwell::core
