#include "sensors/screen/stuck.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace setwell::screen {
namespace {

using quantity::Instant;

constexpr double kUnchanged = 1e-6;

double movement(std::span<const Point> points, Instant from, Instant to) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const auto& point : points) {
    if (point.at < from || point.at > to) continue;
    low = std::min(low, point.value);
    high = std::max(high, point.value);
  }
  return high < low ? 0.0 : high - low;
}

}  // namespace

std::optional<Instant> unchanged_since(std::span<const Point> own) {
  if (own.empty()) return std::nullopt;
  std::size_t first = own.size() - 1;
  while (first > 0 && std::abs(own[first - 1].value - own.back().value) <= kUnchanged)
    --first;
  return own[first].at;
}

std::optional<Instant> stuck_since(std::span<const Point> own, std::span<const Point> neighbour,
                                   quantity::Span stuck_after) {
  const auto since = unchanged_since(own);
  if (!since || own.back().at - *since < stuck_after) return std::nullopt;
  if (movement(neighbour, *since, own.back().at) < kNeighbourMoves) return std::nullopt;
  return since;
}

}  // namespace setwell::screen
