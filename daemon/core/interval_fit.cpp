#include "daemon/core/interval_fit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/core/arrhenius.hpp"

namespace setwell::core {
namespace {

constexpr double kSlack = 1e-9;

/// A range against x = 1/(RT), so that slopes are energies in kJ/mol.
struct Bar {
  double x, low, high;
  [[nodiscard]] double middle() const { return 0.5 * (low + high); }
};

std::vector<Bar> bars_of(std::span<const TimeRange> points) {
  std::vector<Bar> bars;
  for (const TimeRange& p : points) {
    bars.push_back({inverse_rt(p.celsius), std::log(p.low_h), std::log(p.high_h)});
  }
  std::sort(bars.begin(), bars.end(), [](const Bar& a, const Bar& b) { return a.x > b.x; });
  return bars;
}

/// The line's height at x, anchored at the mean x to keep digits.
struct Line {
  double energy, mean_x, mean_y;
  [[nodiscard]] double at(double x) const { return mean_y + energy * (x - mean_x); }
};

double sum_of_squares(const std::vector<Bar>& bars, double mean_x) {
  double sum = 0;
  for (const Bar& b : bars)
    sum += (b.x - mean_x) * (b.x - mean_x);
  return sum;
}

Line least_squares(const std::vector<Bar>& bars) {
  Line line{};
  const double n = static_cast<double>(bars.size());
  for (const Bar& b : bars) {
    line.mean_x += b.x / n;
    line.mean_y += b.middle() / n;
  }
  double product = 0;
  for (const Bar& b : bars)
    product += (b.x - line.mean_x) * (b.middle() - line.mean_y);
  line.energy = product / sum_of_squares(bars, line.mean_x);
  return line;
}

void judge(const Line& line, const std::vector<Bar>& bars, EnergyFit& fit) {
  double squares = 0;
  for (const Bar& b : bars) {
    const double residual = b.middle() - line.at(b.x);
    squares += residual * residual;
    fit.largest_residual_ln = std::max(fit.largest_residual_ln, std::fabs(residual));
  }
  if (bars.size() < 3) {
    fit.largest_residual_ln = 0;  // a line through two points leaves nothing but rounding
    return;
  }
  const double freedom = static_cast<double>(bars.size()) - 2.0;
  fit.standard_error = std::sqrt(squares / freedom / sum_of_squares(bars, line.mean_x));
}

struct Energies {
  double least = -std::numeric_limits<double>::infinity();
  double most = std::numeric_limits<double>::infinity();
};

Energies feasible_energies(const std::vector<Bar>& bars) {
  Energies e;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    for (std::size_t j = i + 1; j < bars.size(); ++j) {
      const double dx = bars[i].x - bars[j].x;  // i is the colder
      if (dx <= 0) continue;
      e.least = std::max(e.least, (bars[i].low - bars[j].high) / dx);
      e.most = std::min(e.most, (bars[i].high - bars[j].low) / dx);
    }
  }
  return e;
}

/// The highest a line of slope `energy` inside all ranges can be at x, and the lowest.
double highest(const std::vector<Bar>& bars, double energy, double x) {
  double value = std::numeric_limits<double>::infinity();
  for (const Bar& b : bars)
    value = std::min(value, b.high + energy * (x - b.x));
  return value;
}
double lowest(const std::vector<Bar>& bars, double energy, double x) {
  double value = -std::numeric_limits<double>::infinity();
  for (const Bar& b : bars)
    value = std::max(value, b.low + energy * (x - b.x));
  return value;
}

/// Where an extreme over the energies can lie: the ends, and wherever two ranges' ends line up.
std::vector<double> candidates(const std::vector<Bar>& bars, const Energies& e) {
  std::vector<double> all{e.least, e.most};
  for (std::size_t i = 0; i < bars.size(); ++i) {
    for (std::size_t j = i + 1; j < bars.size(); ++j) {
      const double dx = bars[i].x - bars[j].x;
      if (dx <= 0) continue;
      for (double energy : {(bars[i].low - bars[j].low) / dx, (bars[i].high - bars[j].high) / dx}) {
        if (energy > e.least && energy < e.most) all.push_back(energy);
      }
    }
  }
  return all;
}

std::optional<FeasibleLines> feasible_lines(const std::vector<Bar>& bars, double reference_x) {
  const Energies e = feasible_energies(bars);
  const double slack = kSlack * std::max(std::fabs(e.least), std::fabs(e.most));
  if (e.least > e.most + slack) return std::nullopt;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (double energy : candidates(bars, e)) {
    low = std::min(low, lowest(bars, energy, reference_x));
    high = std::max(high, highest(bars, energy, reference_x));
  }
  return FeasibleLines{e.least, e.most, std::exp(low), std::exp(high)};
}

}  // namespace

std::optional<EnergyFit> fit_energy(std::span<const TimeRange> points, double reference_c) {
  const std::vector<Bar> bars = bars_of(points);
  if (bars.size() < 2 || bars.front().x == bars.back().x) return std::nullopt;
  const Line line = least_squares(bars);
  EnergyFit fit;
  fit.energy = line.energy;
  fit.time_at_reference_h = std::exp(line.at(inverse_rt(reference_c)));
  judge(line, bars, fit);
  fit.feasible = feasible_lines(bars, inverse_rt(reference_c));
  for (std::size_t i = 0; i + 1 < bars.size(); ++i) {
    const double dx = bars[i].x - bars[i + 1].x;
    if (dx > 0) fit.secants.push_back((bars[i].middle() - bars[i + 1].middle()) / dx);
  }
  return fit;
}

}  // namespace setwell::core
