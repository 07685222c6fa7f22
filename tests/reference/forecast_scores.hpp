#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/core/forecast.hpp"

/// How good forecasts were: sums over cases that become figures.
namespace setwell::reference {

/// The 5th, 25th, 50th, 75th and 95th percentiles.
inline constexpr std::array<double, 5> kLevels{0.05, 0.25, 0.50, 0.75, 0.95};

/// One horizon of one quantity.
class Scores {
 public:
  /// `plain`: absolute errors of the plain ways; `comparator` is the band around the plain way chosen before.
  void take(const core::Band& band, const core::Band& comparator, const std::array<double, 6>& plain,
            double told);
  [[nodiscard]] int cases() const { return cases_; }
  [[nodiscard]] double mae() const { return mean(error_); }
  [[nodiscard]] double comparator_mae() const { return mean(comparator_error_); }
  [[nodiscard]] double ratio() const { return error_ / comparator_error_; }
  [[nodiscard]] double hindsight_ratio() const;
  [[nodiscard]] double cover50() const { return mean(inside50_); }
  [[nodiscard]] double cover90() const { return mean(inside90_); }
  [[nodiscard]] double width90() const { return mean(width90_); }
  [[nodiscard]] double interval_ratio50() const { return interval50_ / comparator_interval50_; }
  [[nodiscard]] double interval_ratio90() const { return interval90_ / comparator_interval90_; }
  [[nodiscard]] double pinball(std::size_t level) const { return mean(pinball_[level]); }

 private:
  [[nodiscard]] double mean(double sum) const { return cases_ == 0 ? 0.0 : sum / cases_; }
  int cases_ = 0;
  double error_ = 0, comparator_error_ = 0;
  std::array<double, 6> plain_{};
  double inside50_ = 0, inside90_ = 0, width90_ = 0;
  double interval50_ = 0, interval90_ = 0, comparator_interval50_ = 0, comparator_interval90_ = 0;
  std::array<double, 5> pinball_{};
};

/// Chances against what came.
class ChanceScores {
 public:
  static constexpr std::size_t kBins = 10;
  void take(double chance, bool came);
  [[nodiscard]] int cases() const { return cases_; }
  [[nodiscard]] double brier() const { return cases_ == 0 ? 0.0 : square_ / cases_; }
  /// Of always saying how often it comes on the whole.
  [[nodiscard]] double brier_of_mean() const;
  struct Bin {
    int cases = 0;
    double chance = 0, came = 0;  ///< means
  };
  [[nodiscard]] Bin bin(std::size_t index) const;
  void add(const ChanceScores& other);

 private:
  int cases_ = 0, came_ = 0;
  double square_ = 0;
  std::array<int, kBins> count_{};
  std::array<double, kBins> chances_{}, came_in_{};
};

/// What a maker asks at 18:00 of the night until 08:00.
struct NightScores {
  int nights = 0;
  double minimum_error = 0;  ///< sum of absolute errors, K
  int minimum_inside = 0;    ///< within the 90 % band of the minimum
  struct Fall {
    double limit_c = 0;
    int both = 0;            ///< nights foretold and seen to fall under the limit
    double hours_error = 0;  ///< sum over those
    int inside = 0;          ///< the hour it fell lay within the 90 % band, or neither fell
    int asked = 0;           ///< nights that began above the limit
    int missed = 0, false_alarms = 0;
  };
  std::array<Fall, 3> falls{{{10.0, 0, 0, 0, 0, 0, 0}, {13.0, 0, 0, 0, 0, 0, 0}, {16.0, 0, 0, 0, 0, 0, 0}}};
  void add(const NightScores& other);
};

}  // namespace setwell::reference
