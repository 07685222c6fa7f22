#include "sensors/screen/footing.hpp"

#include <array>
#include <cmath>
#include <optional>

namespace setwell::screen {
namespace {

using quantity::DecodedValue;
using quantity::MeasuredQuantity;
using quantity::Unit;

/// Humidities at or under this, in %, may be ratios that were read as percent.
constexpr double kMayBeRatio = 1.05;

struct Level {
  double value = 0.0;
  const DecodedValue* latest = nullptr;
};

class Finder {
 public:
  Finder(const Agreement& agreement, MeasuredQuantity quantity, Series series, const Flags& eligible,
         std::vector<Footing>& footings)
      : agreement_(agreement),
        other_(quantity == MeasuredQuantity::relative_humidity ? Footing::other_scale : Footing::other_unit),
        series_(series),
        eligible_(eligible),
        footings_(footings) {}

  [[nodiscard]] Footing at(std::size_t position) const {
    const Footing carried = position == 0 ? Footing::as_told : footings_[position - 1];
    if (!eligible_[position]) return carried;
    const Side next = after(eligible_, position);
    if (next.size() < 2) return carried;
    const auto level = level_before(position);
    if (!level) return carried;
    const std::array three{position, next[0], next[1]};
    const Footing other = carried == Footing::as_told ? other_ : Footing::as_told;
    const bool switched = leaves(*level, three, carried) && goes_on(*level, three, other);
    return switched ? other : carried;
  }

 private:
  [[nodiscard]] double known(std::size_t position) const {
    return on_footing(series_[position], footings_[position]);
  }

  [[nodiscard]] bool agree(std::size_t a, std::size_t b) const {
    return std::abs(known(a) - known(b)) <= agreement_.agree(apart(series_[a], series_[b]));
  }

  /// What at least two of the three values before a position agree on; the nearest two that do.
  [[nodiscard]] std::optional<Level> level_before(std::size_t position) const {
    const Side side = before(eligible_, position);
    for (std::size_t i = 0; i < side.size(); ++i) {
      for (std::size_t k = i + 1; k < side.size(); ++k) {
        if (agree(side[i], side[k])) return Level{(known(side[i]) + known(side[k])) / 2.0, &series_[side[i]]};
      }
    }
    return std::nullopt;
  }

  [[nodiscard]] bool leaves(const Level& level, const std::array<std::size_t, 3>& three,
                            Footing footing) const {
    for (const auto position : three) {
      const auto& value = series_[position];
      const double off = std::abs(on_footing(value, footing) - level.value);
      if (off <= agreement_.agree(apart(*level.latest, value))) return false;
    }
    return true;
  }

  [[nodiscard]] bool goes_on(const Level& level, const std::array<std::size_t, 3>& three,
                             Footing footing) const {
    for (const auto position : three) {
      const auto& value = series_[position];
      const double off = std::abs(on_footing(value, footing) - level.value);
      if (off > agreement_.go_on(apart(*level.latest, value))) return false;
    }
    return true;
  }

  const Agreement& agreement_;
  Footing other_;
  Series series_;
  const Flags& eligible_;
  std::vector<Footing>& footings_;
};

}  // namespace

double on_footing(const DecodedValue& value, Footing footing) {
  if (footing == Footing::as_told) return value.value;
  if (footing == Footing::other_scale) {
    return value.value <= kMayBeRatio ? value.value * 100.0 : value.value / 100.0;
  }
  return value.unit == Unit::deg_f ? value.value * 1.8 + 32.0 : (value.value - 32.0) / 1.8;
}

void find_footings(const Agreement& agreement, MeasuredQuantity quantity, Series series,
                   const Flags& eligible, std::size_t first, std::vector<Footing>& footings) {
  const Finder finder(agreement, quantity, series, eligible, footings);
  for (std::size_t at = first; at < series.size(); ++at)
    footings[at] = finder.at(at);
}

}  // namespace setwell::screen
