#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

#include "daemon/core/forecast_view.hpp"

/// Least squares that forget, shrunk toward what is usual in rooms. Sums are floats, so that what is stored
/// is what was there.
namespace setwell::core {

/// Σ w·x·xᵀ and Σ w·x·y of one horizon, older cases counting less.
class RidgeSums {
 public:
  /// Everything counts this much less than before.
  void fade(double factor);
  void take(const Features& x, double y, double weight);
  /// The coefficients that are nearest to the cases and to `toward`, which counts as much as `strength`
  /// cases.
  [[nodiscard]] Features solve(const Features& toward, double strength) const;

  void save(std::string& bytes) const;
  [[nodiscard]] bool load(std::string_view& bytes);

 private:
  static constexpr std::size_t kPairs = kFeatures * (kFeatures + 1) / 2;
  std::array<float, kPairs> squares_{};  ///< the lower triangle by rows
  std::array<float, kFeatures> products_{};
};

[[nodiscard]] inline double dot(const Features& a, const Features& b) {
  double sum = 0;
  for (std::size_t i = 0; i < kFeatures; ++i)
    sum += a[i] * b[i];
  return sum;
}

}  // namespace setwell::core
