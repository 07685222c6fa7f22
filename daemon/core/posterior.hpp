#pragma once

#include <optional>
#include <span>
#include <vector>

/// What touch tests tell about one material's own rate, per sheet and milestone.
///
/// A milestone comes at M times the sheet's time; ln M = μ + scatter, μ ~ N(prior mean, prior sd²), scatter
/// N(0, σ²). A series of tests on one piece (`tacky` at one age, `firm` at a later) is one interval of ratios
/// with likelihood Φ((ln high - μ)/σ) - Φ((ln low - μ)/σ). The posterior of μ is held on a uniform grid of ±6
/// prior sd, step 0.01 (or a quarter of σ where that is less), with trapezoid weights: moments are then good
/// to 1e-6 and quantiles to 1e-3.
namespace setwell::core {

/// Between which ages, as ratios to the sheet's time, a piece got there. No `low`: it was there at the first
/// test; no `high`: not yet at the last.
struct RatioInterval {
  std::optional<double> low;
  std::optional<double> high;
  /// Half-width of the bounds of ln age at the tests, joined to σ in quadrature.
  double age_spread_ln = 0;
  /// How far M may have drifted since the observation before, sd of ln: loosens what that one said.
  double drift_before_ln = 0;
};

struct LearningPrior {
  double mean_ln = 0.0;
  double spread_ln = 0.25;
  double scatter_ln = 0.15;  ///< σ
  /// Share of tests believed; the rest says nothing, so that one contradictory test cannot rule out
  /// everything.
  double trust = 0.98;
};

/// The posterior of μ. A value.
class Posterior {
 public:
  Posterior(const LearningPrior& prior, std::span<const RatioInterval> observations);

  [[nodiscard]] double mean_ln() const { return mean_; }
  [[nodiscard]] double spread_ln() const { return spread_; }
  /// ln of the probability that the prior gave to the observations.
  [[nodiscard]] double ln_evidence() const { return ln_evidence_; }
  /// Quantile of μ, by linear interpolation of the cumulative trapezoid; 0 < p < 1.
  [[nodiscard]] double quantile_ln(double p) const;
  /// Quantile of M for the next piece, which has its own scatter.
  [[nodiscard]] double next_piece_ratio(double p) const;
  /// max(1, 95 % quantile of M) and min(1, 5 % quantile): before any gate on the number of pieces.
  [[nodiscard]] double opening_multiplier() const;
  [[nodiscard]] double closing_multiplier() const;

 private:
  void begin(const LearningPrior& prior);
  /// What was known spreads: a convolution with the drift's normal distribution.
  void loosen(double drift_ln);
  void weigh(const LearningPrior& prior, const RatioInterval& seen);
  /// Divides by the integral, which goes into the evidence.
  void normalise();
  void summarise();

  double first_ = 0;  ///< lowest μ of the grid
  double step_ = 0;
  double scatter_ = 0;
  std::vector<double> density_;  ///< of μ at the nodes, integrates to 1
  double mean_ = 0, spread_ = 0, ln_evidence_ = 0;
};

}  // namespace setwell::core
