#include "daemon/core/full_cure.hpp"

#include <algorithm>
#include <chrono>

namespace setwell::core {

std::optional<double> week_mean_c(const AirHistory& air, quantity::Instant now) {
  constexpr int kHours = 7 * 24, kLeastHours = 24;
  const auto& points = air.temperature();
  double sum = 0;
  int counted = 0;
  for (int h = 0; h < kHours; ++h) {
    const quantity::Instant at = now - std::chrono::hours(h);
    const auto next = std::upper_bound(points.begin(), points.end(), at,
                                       [](quantity::Instant t, const AirPoint& p) { return t < p.at; });
    if (next == points.begin() || at - (next - 1)->at > std::chrono::hours(1)) continue;
    sum += (next - 1)->value;
    ++counted;
  }
  if (counted < kLeastHours) return std::nullopt;
  return sum / counted;
}

}  // namespace setwell::core
