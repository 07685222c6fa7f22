#pragma once

#include <optional>
#include <span>

#include "daemon/core/air_history.hpp"

/// What is known of a quantity while nothing trusted is heard of it.
namespace setwell::core {

/// How far the seen range is widened, and where the quantity ends.
struct EnvelopeRule {
  double widen;       ///< either way, same unit
  double widen_long;  ///< either way, for what lies more than a day past the last reading
  double least;       ///< nothing is below
  double most;        ///< nothing is above
};
inline constexpr EnvelopeRule kTemperatureEnvelope{2.0, 3.0, -60.0, 120.0};
inline constexpr EnvelopeRule kHumidityEnvelope{5.0, 8.0, 0.0, 100.0};

/// One silence: from the last point of `known` to `after` (or going on). The envelope of a moment is the
/// range of: the readings within 2 h before, both edges, the same hours (UTC) of the last 7 recorded days;
/// widened; more than 24 h after the last reading also the whole range of the last 14 days. The middle is the
/// mean of the same hours, else of the edges. Holds views into the points: they must outlive it.
class Silence {
 public:
  /// `known` in time order, may be empty; `after` may be null; `until` is where the silence ends for now.
  Silence(std::span<const AirPoint> known, const AirPoint* after, quantity::Instant until, EnvelopeRule rule);
  /// The stretch for [from, to) inside the silence.
  [[nodiscard]] Stretch over(quantity::Instant from, quantity::Instant to) const;

 private:
  struct Range {
    double least, most;
  };
  void take(std::optional<Range>& range, double value) const;
  void take_same_hours(std::optional<Range>& range, double& sum, int& count, quantity::Instant from,
                       quantity::Instant to) const;
  [[nodiscard]] double edges_mean() const;

  std::span<const AirPoint> known_;
  const AirPoint* after_;
  EnvelopeRule rule_;
  double error_ = 0;
  std::optional<Range> near_;  ///< edges and the two hours before
  std::optional<Range> long_;  ///< the last 14 days
};

}  // namespace setwell::core
