#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/air_history.hpp"
#include "sensors/quantity/instant.hpp"

/// The coming air of a zone with its spread, as a value: what forecast_book makes, and what clocks, chances
/// and drawings take. Pure, any thread.
namespace setwell::core {

/// Where the value will lie: 50 % of cases between p25 and p75, 90 % between p5 and p95. In order.
struct Band {
  double p5 = 0, p25 = 0, median = 0, p75 = 0, p95 = 0;
  friend bool operator==(const Band&, const Band&) = default;
};

struct ForecastStep {
  quantity::Instant at;
  Band air_c;
  /// Nothing where the zone has no trusted humidity. The bands of humidity hold by themselves, not jointly
  /// with those of the temperature; jointly go the paths.
  std::optional<Band> humidity_pct;
  std::optional<Band> vapour_pa;
  friend bool operator==(const ForecastStep&, const ForecastStep&) = default;
};

/// Which way of foretelling the medians come from. Words of `--json`: heated, naive, blend.
enum class ForecastMethod {
  heated,  ///< the set-point of a zone that is on
  naive,   ///< the best of the plain ways: the room is new, or learning does not beat them here
  blend,   ///< what was learned of this room, weighed with the plain ways by how well each did lately
};
[[nodiscard]] std::string_view word(ForecastMethod method);

/// What the forecast rests on.
struct ForecastBasis {
  quantity::Instant learning_since;  ///< the first trusted hour it knows
  quantity::Hours learned{0};        ///< trusted hours, silences left out
  /// The bands are general ones, wide: less than five days of this room's own errors stand behind them.
  bool wide = true;
  ForecastMethod method = ForecastMethod::naive;
  /// Mean absolute error of the last 14 days' forecasts, over that of the best plain way on the same hours;
  /// below 1 is better. 6 and 24 h ahead, of the temperature. Nothing before there are three days of them.
  std::optional<double> skill_6h, skill_24h;
  std::string remark;  ///< one sentence for people where something is unusual; empty as a rule
  friend bool operator==(const ForecastBasis&, const ForecastBasis&) = default;
};

/// How the next 48 h would go if a past forecast's errors came again, both quantities together. One value per
/// step of the forecast. What a chance is counted on.
struct ForecastPath {
  std::vector<float> air_c;
  std::vector<float> humidity_pct;  ///< empty where the zone has no trusted humidity
  friend bool operator==(const ForecastPath&, const ForecastPath&) = default;
};

/// Steps at the moment of issue and every hour after it up to kForecastHours; between them values are linear.
inline constexpr int kForecastHours = 48;
struct Forecast {
  quantity::Instant issued;  ///< the end of the last quarter of an hour it rests on
  std::vector<ForecastStep> steps;
  ForecastBasis basis;
  std::vector<ForecastPath> paths;  ///< empty while there are fewer than ten; each is as likely as another
  double air_error = 0.5;           ///< the sensor's own worst case, K; in no band
  double humidity_error = 5.0;      ///< likewise, %
  friend bool operator==(const Forecast&, const Forecast&) = default;
};

/// A zone's forecast, or why there is none.
struct ForecastAnswer {
  std::optional<Forecast> forecast;
  std::string why_none;  ///< a sentence; empty where there is one
  friend bool operator==(const ForecastAnswer&, const ForecastAnswer&) = default;
};

/// The step at a moment, interpolated; before the first step the first. Beyond the last the same hour of the
/// last foretold day, never narrower than the last. Nothing for a forecast without steps.
[[nodiscard]] std::optional<ForecastStep> step_at(const Forecast& forecast, quantity::Instant at);

/// The air that clocks take over [from, to), at most an hour long: the 90 % bands widened by the sensors'
/// errors as lower and upper bounds, the medians as the middle. So the slow clock goes by the slow path.
/// Nothing for a forecast without steps.
[[nodiscard]] std::optional<AirPiece> foretold(const Forecast& forecast, quantity::Instant from,
                                               quantity::Instant to);

/// The same along one path: linear, and without any width. `path` must be one of the forecast's; not beyond
/// its last step.
[[nodiscard]] std::optional<AirPiece> foretold_along(const Forecast& forecast, const ForecastPath& path,
                                                     quantity::Instant from, quantity::Instant to);

/// The coldest foretold hour in [from, to): the step with the lowest median.
[[nodiscard]] std::optional<ForecastStep> coldest(const Forecast& forecast, quantity::Instant from,
                                                  quantity::Instant to);

}  // namespace setwell::core
