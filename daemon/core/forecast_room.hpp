#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/forecast.hpp"
#include "daemon/core/forecast_bands.hpp"
#include "daemon/core/forecast_learner.hpp"

/// One room's forecast as it goes on: what was learned, what was said, and how far off that was.
namespace setwell::core {

/// The medians at kBandKnots; NaN where nothing is foretold.
[[nodiscard]] KnotValues at_band_knots(const std::vector<Foretold>& hours);

/// How far the series' last two days lie apart; 0 without values.
[[nodiscard]] double moved_lately(const HourSeries& series, AirQuantity quantity);

class RoomForecaster {
 public:
  explicit RoomForecaster(const ForecastPrior& prior = built_in_forecast_prior()) : learner_(prior) {}

  /// Takes the value of a full hour, silent (NaN) ones too; hours must rise.
  void take(HourIndex hour, const HourValue& value);

  /// A reading came late, or its verdict changed: another value for an hour already taken.
  void correct(HourIndex hour, const HourValue& value) { learner_.correct(hour, value); }

  /// The next 48 h from `issued` on, which lies within the hour behind the last one taken. `now` is the air
  /// of the quarter of an hour that ends there: NaN where it was silent. Nothing where no temperature was
  /// ever told.
  [[nodiscard]] std::optional<Forecast> forecast(quantity::Instant issued, const HourValue& now) const;

  [[nodiscard]] const HourSeries& series() const { return learner_.series(); }
  [[nodiscard]] const ForecastLearner& learner() const { return learner_; }
  [[nodiscard]] const IssueLog& log() const { return log_; }
  [[nodiscard]] Spreads spreads(AirQuantity quantity) const;

  /// Exact bytes; going on from loaded ones gives the same as never having stopped.
  [[nodiscard]] std::string save() const;
  [[nodiscard]] static std::optional<RoomForecaster> load(
      std::string_view bytes, const ForecastPrior& prior = built_in_forecast_prior());

 private:
  [[nodiscard]] ForecastBasis basis() const;
  [[nodiscard]] std::optional<double> skill(std::size_t band_knot) const;

  ForecastLearner learner_;
  IssueLog log_;
  HourIndex since_ = 0;       ///< the first hour that told a temperature
  std::int64_t learned_ = 0;  ///< hours that did
};

}  // namespace setwell::core
