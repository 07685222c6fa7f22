#include "daemon/core/mix_check.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace setwell::core {
namespace {

using quantity::Grams;

/// So that figures that stand exactly on the edge of the tolerance are not thrown out by the last bit.
constexpr double kLastBits = 1e-9;

RatioFinding finding_of(const MixCheck& check, double tolerance) {
  const double lowest = check.wanted * (1 - tolerance) - kLastBits;
  const double highest = check.wanted * (1 + tolerance) + kLastBits;
  if (check.least >= lowest && check.most <= highest) return RatioFinding::holds;
  if (check.most < lowest || check.least > highest) return RatioFinding::off;
  return RatioFinding::cannot_tell;
}

}  // namespace

double weight_from_volume(double by_volume, quantity::GramsPerCubicCentimetre density_a,
                          quantity::GramsPerCubicCentimetre density_b) {
  return by_volume * density_a.value() / density_b.value();
}

std::optional<double> weight_ratio(const Mix& mix) {
  if (mix.by_weight) return mix.by_weight;
  if (!mix.by_volume || !mix.density_a || !mix.density_b) return std::nullopt;
  return weight_from_volume(*mix.by_volume, *mix.density_a, *mix.density_b);
}

std::optional<Grams> least_batch(const Mix& mix, Grams resolution) {
  const auto wanted = weight_ratio(mix);
  if (!wanted || mix.tolerance <= 0) return std::nullopt;
  // (w·b + h) / (b − h) <= w (1 + tol), solved for b; the other side, (w·b − h) / (b + h), asks for less.
  const double half = resolution.value() / 2;
  const double part_b = half * (1 + *wanted * (1 + mix.tolerance)) / (*wanted * mix.tolerance);
  return Grams::from(part_b * (1 + *wanted));
}

MixCheck check_mix(const Mix& mix, Grams part_a, Grams part_b, Grams resolution) {
  MixCheck check;
  check.weighed = part_a.value() / part_b.value();
  const auto wanted = weight_ratio(mix);
  if (!wanted) return check;
  const double half = resolution.value() / 2;
  const double least_b = part_b.value() - half;
  check.wanted = *wanted;
  check.least = std::max(0.0, part_a.value() - half) / (part_b.value() + half);
  check.most = least_b > 0 ? (part_a.value() + half) / least_b : std::numeric_limits<double>::infinity();
  check.part_b_percent = 100 * (check.wanted / check.weighed - 1);
  check.scale_percent = 100 * std::max(check.most / check.weighed - 1, 1 - check.least / check.weighed);
  check.finding = finding_of(check, mix.tolerance);
  check.least_batch = least_batch(mix, resolution);
  return check;
}

std::string sentence(const MixCheck& check) {
  const double off = std::abs(check.part_b_percent);
  const std::string_view side = check.part_b_percent > 0 ? "much" : "little";
  switch (check.finding) {
    case RatioFinding::holds:
      return fmt::format("ratio by weight holds ({:.2f}:1)", check.weighed);
    case RatioFinding::off:
      return fmt::format("{:.0f} % too {} part B: {:.2f}:1 by weight, the sheet asks for {:.2f}:1",
                         std::max(off, 1.0), side, check.weighed, check.wanted);
    case RatioFinding::cannot_tell:
      return fmt::format("cannot tell at this scale: it may be ±{:.0f} % off by rounding alone{}",
                         std::min(check.scale_percent, 999.0),
                         check.least_batch ? fmt::format("; mix at least {:.0f} g on it",
                                                         std::ceil(check.least_batch->value()))
                                           : "");
    case RatioFinding::not_stated:
      return "the sheet states no ratio by weight, and no densities to find it";
  }
  return "";
}

}  // namespace setwell::core
