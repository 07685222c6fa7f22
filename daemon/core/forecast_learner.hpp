#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/forecast_ridge.hpp"
#include "daemon/core/forecast_view.hpp"
#include "daemon/core/hour_series.hpp"

/// Learns one room hour by hour and foretells its next 48 h.
///
/// Ten ways are weighed: the six plain ones; the coefficients usual in rooms; and three regressions on the
/// room's own departures from its daily shape (one of absolute errors, one of squared, both shrunk toward the
/// usual coefficients, and one of squared errors shrunk toward nothing). Learned ways are fitted at kKnots
/// hours ahead and interpolated between. Weights follow the discounted absolute errors that each way really
/// made, out of sample: w ∝ exp(-η·√n·(L - L_least)/L_least).
namespace setwell::core {

inline constexpr std::array<int, 6> kKnots{1, 3, 6, 12, 24, 48};
inline constexpr std::size_t kRegressions = 3;
inline constexpr std::size_t kWays = kPlainWays + 1 + kRegressions;

/// What is usual in rooms: coefficients by quantity and knot. The built-in ones were fitted on recorded rooms
/// (data/forecast_prior.inc).
struct ForecastPrior {
  std::array<std::array<Features, kKnots.size()>, 2> usual{};
};
[[nodiscard]] const ForecastPrior& built_in_forecast_prior();

/// One quantity, one hour ahead.
struct Foretold {
  double median = 0;
  double carried = 0;  ///< how much of a change of the value now shows then, 0 … about 1
};

class ForecastLearner {
 public:
  explicit ForecastLearner(const ForecastPrior& prior = built_in_forecast_prior());

  /// Takes the value of an hour; hours must rise, those left out were silent. After a silence longer than
  /// the series keeps, learning starts again.
  void take(HourIndex hour, const HourValue& value);
  /// What was told of an hour already taken is another by now: later views see it, what was learned of it
  /// stays.
  void correct(HourIndex hour, const HourValue& value) { series_.correct(hour, value); }
  [[nodiscard]] const HourSeries& series() const { return series_; }

  /// The next `hours` hours, the first one hour ahead. Empty where the quantity was never told.
  [[nodiscard]] std::vector<Foretold> foretell(AirQuantity quantity, int hours) const;

  /// The weights of all ways at a knot, for looking at.
  [[nodiscard]] std::array<double, kWays> weights(AirQuantity quantity, std::size_t knot) const;

  /// Exact bytes of all that was learned; `load` refuses those of another layout. Going on from loaded bytes
  /// gives the same as never having stopped.
  [[nodiscard]] std::string save() const;
  [[nodiscard]] static std::optional<ForecastLearner> load(
      std::string_view bytes, const ForecastPrior& prior = built_in_forecast_prior());

 private:
  using Guesses = std::array<std::int16_t, kRegressions>;  // hundredths
  struct Knot {
    RidgeSums absolute, squared;
    float usual_error = 0;                        ///< what errors of the first regression are held against
    std::array<float, kWays> losses{};            ///< discounted sums of absolute errors
    float cases = 0;                              ///< discounted
    std::array<Features, kRegressions> fitted{};  ///< derived from the sums
  };
  static constexpr std::size_t kPending = 48;
  struct Room {
    std::array<Knot, kKnots.size()> knots;
    /// What the regressions said of the last hours' futures, by hour modulo kPending.
    std::array<std::array<Guesses, kKnots.size()>, kPending> pending;
  };

  void learn(AirQuantity quantity, HourIndex hour);
  void learn_at(AirQuantity quantity, std::size_t knot, HourIndex hour, double value);
  void fit(AirQuantity quantity);
  void guess(AirQuantity quantity, HourIndex hour);
  [[nodiscard]] Room& room(AirQuantity q) { return rooms_[static_cast<std::size_t>(q)]; }
  [[nodiscard]] const Room& room(AirQuantity q) const { return rooms_[static_cast<std::size_t>(q)]; }
  [[nodiscard]] const Features& usual(AirQuantity q, std::size_t knot) const {
    return prior_->usual[static_cast<std::size_t>(q)][knot];
  }

  const ForecastPrior* prior_;
  HourSeries series_;
  std::array<Room, 2> rooms_;
};

}  // namespace setwell::core
