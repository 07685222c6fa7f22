#include "sensors/screen/spikes.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

namespace setwell::screen {
namespace {

/// Up to three neighbours before and three after a value, in one row; bit k of a mask stands for the k-th.
struct Around {
  Side before;
  Side after;

  [[nodiscard]] std::size_t size() const { return before.size() + after.size(); }
  [[nodiscard]] std::size_t operator[](std::size_t k) const {
    return k < before.size() ? before[k] : after[k - before.size()];
  }
  [[nodiscard]] unsigned earlier_ones() const { return (1U << before.size()) - 1U; }
};

bool all_agree(const Levels& levels, const Around& around, unsigned mask) {
  for (std::size_t i = 0; i < around.size(); ++i) {
    for (std::size_t k = i + 1; k < around.size(); ++k) {
      const bool both = (mask >> i & 1U) != 0 && (mask >> k & 1U) != 0;
      if (both && !levels.agree(around[i], around[k])) return false;
    }
  }
  return true;
}

/// Those neighbours that a value disagrees with, and those that it is far from.
struct Against {
  unsigned disagree = 0;
  unsigned far = 0;
};

Against against(const Levels& levels, const Around& around, std::size_t position) {
  Against result;
  for (std::size_t k = 0; k < around.size(); ++k) {
    if (!levels.agree(around[k], position)) result.disagree |= 1U << k;
    if (levels.far(around[k], position)) result.far |= 1U << k;
  }
  return result;
}

/// Whether these neighbours are enough to refuse a value.
bool convict(const Levels& levels, const Around& around, const Against& reasons, unsigned mask) {
  if (std::popcount(mask) < static_cast<int>(kNeighbours)) return false;
  const bool earlier = (mask & around.earlier_ones()) != 0;
  const bool later = (mask & ~around.earlier_ones()) != 0;
  if (!later || (mask & ~reasons.disagree) != 0) return false;
  if (!earlier && (mask & ~reasons.far) != 0) return false;
  return all_agree(levels, around, mask);
}

bool is_spike(const Levels& levels, const Flags& eligible, std::size_t position) {
  if (is_one_of_three(levels, eligible, position)) return false;
  const Around around{before(eligible, position), after(eligible, position)};
  if (is_on_the_way(levels, eligible, position)) return false;
  const Against reasons = against(levels, around, position);
  for (unsigned mask = 1; mask < 1U << around.size(); ++mask) {
    if (convict(levels, around, reasons, mask)) return true;
  }
  return false;
}

bool triple(const Levels& levels, std::size_t a, std::size_t b, std::size_t c) {
  return levels.agree(a, b) && levels.agree(b, c) && levels.agree(a, c);
}

}  // namespace

bool Levels::agree(std::size_t a, std::size_t b) const {
  return std::abs(values[a] - values[b]) <= agreement.agree(apart(series[a], series[b]));
}

bool Levels::far(std::size_t a, std::size_t b) const {
  return std::abs(values[a] - values[b]) > agreement.far(apart(series[a], series[b]));
}

bool is_one_of_three(const Levels& levels, const Flags& eligible, std::size_t position) {
  const Side b = before(eligible, position);
  if (b.size() >= 2 && triple(levels, b[1], b[0], position)) return true;
  const Side a = after(eligible, position);
  if (b.size() >= 1 && a.size() >= 1 && triple(levels, b[0], position, a[0])) return true;
  return a.size() >= 2 && triple(levels, position, a[0], a[1]);
}

bool is_on_the_way(const Levels& levels, const Flags& eligible, std::size_t position) {
  const Side b = before(eligible, position);
  const Side a = after(eligible, position);
  if (b.size() == 0 || a.size() == 0) return false;
  const auto [low, high] = std::minmax(levels.values[b[0]], levels.values[a[0]]);
  const double value = levels.values[position];
  return low <= value && value <= high && !levels.far(b[0], position) && !levels.far(position, a[0]);
}

void remove_spikes(const Levels& levels, Flags& eligible) {
  // Twice: a spike beside another one is alone once that is gone.
  for (int pass = 0; pass < 2; ++pass) {
    Flags left = eligible;
    for (std::size_t at = 0; at < eligible.size(); ++at) {
      if (eligible[at] && is_spike(levels, eligible, at)) left[at] = 0;
    }
    eligible = std::move(left);
  }
}

Flags find_power_on(const Agreement& agreement, Series series, const Flags& eligible) {
  Flags others = eligible;
  for (std::size_t at = 0; at < series.size(); ++at) {
    if (series[at].power_on) others[at] = 0;
  }
  Flags refused(series.size(), 0);
  for (std::size_t at = 0; at < series.size(); ++at) {
    if (!eligible[at] || !series[at].power_on) continue;
    const auto approaches = [&](std::size_t other) {
      const double off = std::abs(series[other].value - series[at].value);
      return off <= agreement.far(apart(series[other], series[at]));
    };
    const Side b = before(others, at);
    const Side a = after(others, at);
    refused[at] =
        !std::any_of(b.begin(), b.end(), approaches) && !std::any_of(a.begin(), a.end(), approaches);
  }
  return refused;
}

}  // namespace setwell::screen
