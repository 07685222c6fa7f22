#include "daemon/core/overtaken.hpp"

#include <algorithm>
#include <chrono>

#include "daemon/core/outside.hpp"
#include "daemon/core/surface.hpp"
#include "sensors/air/saturation.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

constexpr std::chrono::minutes kStep{30};
constexpr double kDriest = 0.5;

struct Hits {
  std::vector<Instant> under_floor, dew_margin;
};

double margin(double surface, double air, double percent) {
  const auto dew = air::dew_point_c(air::vapour_pa(air, std::max(percent, kDriest)));
  return surface - dew.value_or(-100.0);
}

void follow_path(const SoftCoat& coat, const Forecast& forecast, const ForecastPath& path, Instant now,
                 Hits& hits) {
  const quantity::Seconds step(kStep);
  double surface = coat.surface_c;
  double progress = coat.progress;
  bool cold = false;
  bool damp = false;
  for (Instant at = now; progress < 1.0; at += kStep) {
    const auto piece = foretold_along(forecast, path, at, at + kStep);
    if (!piece) return;
    const auto& air = piece->temperature;
    const double before = surface;
    surface = follow(surface, air.from, (air.to - air.from) / step.count(), coat.tau_s).at(step.count());
    if (!cold && coat.floor_c && surface < *coat.floor_c) {
      cold = true;
      hits.under_floor.push_back(at + kStep);
    }
    if (!damp && coat.dew_margin_k && piece->humidity &&
        margin(surface, air.to, piece->humidity->to) < *coat.dew_margin_k) {
      damp = true;
      hits.dew_margin.push_back(at + kStep);
    }
    progress += quantity::Hours(kStep).count() * coat.tack_free->expected(0.5 * (before + surface)) *
                coat.rate_factor;
  }
}

void tell(std::vector<Trouble>& out, TroubleKind kind, std::vector<Instant>& hits, std::size_t paths) {
  const double chance = static_cast<double>(hits.size()) / static_cast<double>(paths);
  if (hits.empty() || chance < kLeastChance) return;
  const auto middle = hits.begin() + static_cast<std::ptrdiff_t>(hits.size() / 2);
  std::nth_element(hits.begin(), middle, hits.end());
  out.push_back({kind, chance, *middle});
}

}  // namespace

std::vector<Trouble> overtaken(const SoftCoat& coat, const Forecast& forecast, Instant now) {
  std::vector<Trouble> out;
  if (forecast.paths.empty() || coat.tack_free->never()) return out;
  Hits hits;
  for (const auto& path : forecast.paths)
    follow_path(coat, forecast, path, now, hits);
  tell(out, TroubleKind::under_floor, hits.under_floor, forecast.paths.size());
  tell(out, TroubleKind::dew_margin, hits.dew_margin, forecast.paths.size());
  return out;
}

std::optional<double> dew_margin_until_tack_free(const Material& material) {
  std::optional<double> asked;
  for (const auto& rule : conditions_of(material, Instant{}, Instant{})) {
    if (rule.kind == ConditionKind::dew_margin && rule.ends == PhaseEnd::tack_free)
      asked = std::max(asked.value_or(rule.bound), rule.bound);
  }
  return asked;
}

}  // namespace setwell::core
