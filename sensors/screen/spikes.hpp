#pragma once

#include <vector>

#include "sensors/screen/agreement.hpp"
#include "sensors/screen/series.hpp"

namespace setwell::screen {

/// A series on its footing: what is compared, with its times.
struct Levels {
  const Agreement& agreement;
  Series series;
  const std::vector<double>& values;

  [[nodiscard]] bool agree(std::size_t a, std::size_t b) const;
  [[nodiscard]] bool far(std::size_t a, std::size_t b) const;
};

/// Whether a value is one of three in a row (of the `eligible` ones) that all agree.
[[nodiscard]] bool is_one_of_three(const Levels& levels, const Flags& eligible, std::size_t position);

/// Whether it lies between its two neighbours and not far from either: part of a ramp.
[[nodiscard]] bool is_on_the_way(const Levels& levels, const Flags& eligible, std::size_t position);

/// Takes the spikes out of `eligible`: values that disagree with at least three agreeing ones among their
/// three neighbours each side, at least one of which came later, and that are neither one of three agreeing
/// ones nor on the way from one neighbour to the other. Where all the agreeing ones came later, the value
/// must be far off them. The newest value is never a spike: it waits.
void remove_spikes(const Levels& levels, Flags& eligible);

/// The exact 85.0 °C values that nothing near them approaches.
[[nodiscard]] Flags find_power_on(const Agreement& agreement, Series series, const Flags& eligible);

}  // namespace setwell::screen
