#include "daemon/core/time_model.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/arrhenius.hpp"

namespace setwell::core {
namespace {

constexpr double kJustBelowK = 0.01;
constexpr double kFullCureSlackK = 5.0;

double mix(double a, double b, double f) {
  return a + (b - a) * f;
}

}  // namespace

TimeModel::TimeModel(const TimeTable& table, Family family, Milestone milestone, const PriorBook& book)
    : priors_(priors_for(family, milestone, book)) {
  for (const Row& row : table.rows) {
    if (row.time.wording == Wording::no_limit) continue;
    const double low = std::log(row.time.low.count());
    const double high = std::log(row.time.high.count());
    rows_.push_back(
        {row.at.degrees(), inverse_rt(row.at.degrees()), low, 0.5 * (low + high), std::max(low, high)});
  }
  never_ = rows_.empty();
}

LnTime TimeModel::between(const KnownRow& cold, const KnownRow& warm, double x) const {
  const double width = cold.x - warm.x;
  const double f = (cold.x - x) / width;
  const double variance = priors_.bend * priors_.bend * f * (1.0 - f) * width;
  return {mix(cold.low, warm.low, f), mix(cold.expected, warm.expected, f), mix(cold.high, warm.high, f),
          std::sqrt(std::max(0.0, variance)), 1.0};
}

LnTime TimeModel::beyond(const KnownRow& row, const KnownRow* neighbour, const EnergyPrior& prior,
                         double x) const {
  double energy = prior.mean;
  double wander = prior.wander * prior.wander;
  if (neighbour != nullptr) {
    // A chord over Δx tells the mean energy with variance b²/Δx; the prior with a².
    wander = priors_.bend * priors_.bend;
    const double width = std::fabs(neighbour->x - row.x);
    const double chord = (neighbour->expected - row.expected) / (neighbour->x - row.x);
    const double by_prior = 1.0 / (prior.spread * prior.spread);
    const double by_chord = width / wander;
    energy = (by_prior * prior.mean + by_chord * chord) / (by_prior + by_chord);
  }
  const double dx = x - row.x;
  const double a = prior.spread * dx;
  const double shift = energy * dx;
  return {row.low + shift, row.expected + shift, row.high + shift, std::sqrt(a * a + wander * std::fabs(dx)),
          prior.skew};
}

LnTime TimeModel::at(double celsius) const {
  const double x = inverse_rt(celsius);
  const KnownRow& coldest = rows_.front();
  const KnownRow& warmest = rows_.back();
  const bool several = rows_.size() > 1;
  if (celsius <= coldest.celsius) return beyond(coldest, several ? &rows_[1] : nullptr, priors_.colder, x);
  if (celsius >= warmest.celsius) {
    return beyond(warmest, several ? &rows_[rows_.size() - 2] : nullptr, priors_.warmer, x);
  }
  const auto warm = std::upper_bound(rows_.begin(), rows_.end(), celsius,
                                     [](double c, const KnownRow& row) { return c < row.celsius; });
  return between(*(warm - 1), *warm, x);
}

std::vector<double> TimeModel::row_temperatures() const {
  std::vector<double> all;
  for (const KnownRow& row : rows_)
    all.push_back(row.celsius);
  return all;
}

bool TimeModel::low_ends_fall() const {
  return std::is_sorted(rows_.rbegin(), rows_.rend(),
                        [](const KnownRow& a, const KnownRow& b) { return a.low < b.low; });
}

bool TimeModel::high_ends_fall() const {
  return std::is_sorted(rows_.rbegin(), rows_.rend(),
                        [](const KnownRow& a, const KnownRow& b) { return a.high < b.high; });
}

CureFloor floor_for(std::optional<quantity::Celsius> stated, const TimeModel& model, Family family) {
  if (stated) return {stated->degrees(), stated->degrees(), false};
  if (model.never()) return {};
  const double prior = floor_upper_c(family);
  return {std::min(prior, model.coldest_row_c() - kJustBelowK), std::nullopt, true};
}

double full_cure_least_c(const TimeModel& model, const CureFloor& floor) {
  const double near_row = model.coldest_row_c() - kFullCureSlackK;
  return std::max(floor.slow_c.value_or(near_row), near_row);
}

}  // namespace setwell::core
