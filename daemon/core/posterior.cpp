#include "daemon/core/posterior.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace setwell::core {
namespace {

constexpr double kWidthInSpreads = 6.0;
constexpr double kStep = 0.01;
constexpr double kNodesPerScatter = 4.0;

double normal_cdf(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

/// Φ(b) - Φ(a) as a difference of tails on the side where both are small, which keeps the digits.
double normal_between(double a, double b) {
  return a > 0.0 ? normal_cdf(-a) - normal_cdf(-b) : normal_cdf(b) - normal_cdf(a);
}

double likelihood(const RatioInterval& seen, double mu, double scatter) {
  const double sigma = std::hypot(scatter, seen.age_spread_ln);
  const bool no_low = !seen.low || *seen.low <= 0.0;
  if (no_low && !seen.high) return 1.0;
  if (no_low) return normal_cdf((std::log(*seen.high) - mu) / sigma);
  const double a = (std::log(*seen.low) - mu) / sigma;
  if (!seen.high) return normal_cdf(-a);
  return normal_between(a, (std::log(*seen.high) - mu) / sigma);
}

/// Trapezoid weight of node i of n, in steps.
double end_weight(std::size_t i, std::size_t n) {
  return i == 0 || i + 1 == n ? 0.5 : 1.0;
}

}  // namespace

Posterior::Posterior(const LearningPrior& prior, std::span<const RatioInterval> observations)
    : scatter_(prior.scatter_ln) {
  const double half = kWidthInSpreads * prior.spread_ln;
  // A likelihood is as sharp as the scatter; the trapezoid needs a few nodes across it.
  const double widest = std::min(kStep, prior.scatter_ln / kNodesPerScatter);
  const auto steps = static_cast<std::size_t>(std::max(2.0, std::ceil(2.0 * half / widest - 1e-9)));
  first_ = prior.mean_ln - half;
  step_ = 2.0 * half / static_cast<double>(steps);
  density_.resize(steps + 1);
  begin(prior);
  double drift = 0;
  for (const RatioInterval& seen : observations) {
    drift = std::hypot(drift, seen.drift_before_ln);
    // Less than a third of a step would not show: it waits for more.
    if (drift * 3.0 >= step_) {
      loosen(drift);
      drift = 0;
    }
    weigh(prior, seen);
  }
  summarise();
}

void Posterior::begin(const LearningPrior& prior) {
  for (std::size_t i = 0; i < density_.size(); ++i) {
    const double z = (first_ + step_ * static_cast<double>(i) - prior.mean_ln) / prior.spread_ln;
    density_[i] = std::exp(-0.5 * z * z) / (prior.spread_ln * std::sqrt(2.0 * std::numbers::pi));
  }
  normalise();
}

void Posterior::loosen(double drift_ln) {
  const auto reach = static_cast<std::ptrdiff_t>(std::ceil(5.0 * drift_ln / step_));
  std::vector<double> kernel;
  for (std::ptrdiff_t k = -reach; k <= reach; ++k) {
    const double z = step_ * static_cast<double>(k) / drift_ln;
    kernel.push_back(std::exp(-0.5 * z * z));
  }
  const std::vector<double> before = density_;
  const auto n = static_cast<std::ptrdiff_t>(before.size());
  for (std::ptrdiff_t i = 0; i < n; ++i) {
    double sum = 0;
    for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, i - reach); j <= std::min(n - 1, i + reach); ++j)
      sum += before[static_cast<std::size_t>(j)] * kernel[static_cast<std::size_t>(i - j + reach)];
    density_[static_cast<std::size_t>(i)] = sum;
  }
  const double evidence = ln_evidence_;
  normalise();
  ln_evidence_ = evidence;
}

void Posterior::weigh(const LearningPrior& prior, const RatioInterval& seen) {
  for (std::size_t i = 0; i < density_.size(); ++i) {
    const double mu = first_ + step_ * static_cast<double>(i);
    density_[i] *= std::max(prior.trust * likelihood(seen, mu, scatter_) + (1.0 - prior.trust), 1e-300);
  }
  normalise();
}

void Posterior::normalise() {
  double sum = 0;
  for (std::size_t i = 0; i < density_.size(); ++i)
    sum += density_[i] * end_weight(i, density_.size()) * step_;
  for (double& d : density_)
    d /= sum;
  ln_evidence_ += std::log(sum);
}

void Posterior::summarise() {
  double square = 0;
  for (std::size_t i = 0; i < density_.size(); ++i) {
    mean_ += density_[i] * end_weight(i, density_.size()) * step_ * (first_ + step_ * static_cast<double>(i));
  }
  for (std::size_t i = 0; i < density_.size(); ++i) {
    const double d = first_ + step_ * static_cast<double>(i) - mean_;
    square += density_[i] * end_weight(i, density_.size()) * step_ * d * d;
  }
  spread_ = std::sqrt(square);
}

double Posterior::quantile_ln(double p) const {
  double sum = 0;
  for (std::size_t i = 0; i + 1 < density_.size(); ++i) {
    const double more = 0.5 * (density_[i] + density_[i + 1]) * step_;
    if (sum + more >= p && more > 0.0) return first_ + step_ * (static_cast<double>(i) + (p - sum) / more);
    sum += more;
  }
  return first_ + step_ * static_cast<double>(density_.size() - 1);
}

double Posterior::next_piece_ratio(double p) const {
  const auto below = [&](double y) {
    double sum = 0;
    for (std::size_t i = 0; i < density_.size(); ++i) {
      const double mu = first_ + step_ * static_cast<double>(i);
      sum += density_[i] * end_weight(i, density_.size()) * step_ * normal_cdf((y - mu) / scatter_);
    }
    return sum;
  };
  double low = first_ - 8.0 * scatter_;
  double high = first_ + step_ * static_cast<double>(density_.size()) + 8.0 * scatter_;
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    (below(middle) < p ? low : high) = middle;
  }
  return std::exp(0.5 * (low + high));
}

double Posterior::opening_multiplier() const {
  return std::max(1.0, next_piece_ratio(0.95));
}

double Posterior::closing_multiplier() const {
  return std::min(1.0, next_piece_ratio(0.05));
}

}  // namespace setwell::core
