#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/reading.hpp"

namespace setwell::screen {

/// How many neighbours a value is judged by, on each side, and how many must agree to be believed.
inline constexpr std::size_t kNeighbours = 3;
/// Neighbours are looked for among this many values on each side; what lies between them are repeats,
/// sentinels and spikes. It bounds what one verdict can depend on.
inline constexpr std::size_t kSearch = 24;

/// What the settings say about a channel that its screening needs.
struct Rules {
  quantity::MeasuredQuantity quantity = quantity::MeasuredQuantity::air_temperature;
  quantity::Span settle = std::chrono::seconds(120);  ///< after a restart
  bool several_ways = false;                          ///< one sensor heard by several gateways (`probe`)
};

/// The order in which a series is screened: by measured time, then by receive time, then by content, so that
/// values that compare equal both ways are interchangeable. Never by arrival.
[[nodiscard]] bool earlier(const quantity::DecodedValue& a, const quantity::DecodedValue& b);

/// A series in that order; the functions below take nothing else.
using Series = std::span<const quantity::DecodedValue>;
/// One flag per value of a series. (Bytes, so that it can be viewed as a span.)
using Flags = std::vector<char>;

/// Up to `kNeighbours` positions on one side of a value, nearest first.
class Side {
 public:
  void add(std::size_t position) { positions_[count_++] = position; }
  [[nodiscard]] bool full() const { return count_ == positions_.size(); }
  [[nodiscard]] std::size_t size() const { return count_; }
  [[nodiscard]] std::size_t operator[](std::size_t nth) const { return positions_[nth]; }
  [[nodiscard]] auto begin() const { return positions_.begin(); }
  [[nodiscard]] auto end() const { return positions_.begin() + static_cast<std::ptrdiff_t>(count_); }

 private:
  std::array<std::size_t, kNeighbours> positions_{};
  std::size_t count_ = 0;
};

/// The nearest values before and after a position for which `eligible` is set, within `kSearch` positions.
[[nodiscard]] Side before(const Flags& eligible, std::size_t position);
[[nodiscard]] Side after(const Flags& eligible, std::size_t position);

}  // namespace setwell::screen
