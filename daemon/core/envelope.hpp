#pragma once

#include <optional>
#include <span>

#include "daemon/core/air_history.hpp"

/// What is known of a quantity while nothing trusted is heard of it.
namespace setwell::core {

/// How far the seen range is widened, and where the quantity ends.
struct EnvelopeRule {
  double per_root_hour;  ///< either way, same unit: times √(hours it has lasted), of a day at most
  double widen_long;     ///< either way, for what lies more than a day past the last reading
  double least;          ///< nothing is below
  double most;           ///< nothing is above
};
/// Set from ten recorded rooms, 350,315 stretches of 2 to 24 hours held out in turn (tests/reference/
/// silence_check.cpp prints it anew): the least widening, in steps of a twentieth, that leaves the truth
/// outside in at most 0.5 % of the silences; mean width of the envelope then 12.5 K and 34.6 %. Tried beside
/// it, at the same 0.5 %: one width for any length (4.0 K and 10.6 %: 14.3 K, 39.7 %), the root of the time
/// to the nearer edge (12.7 K, 35.2 %), a share of the range of two weeks (12.7 K, 38.1 %), of two hours
/// (12.8 K, 38.1 %). In a record's first week the truth is outside more often, and it is so in rooms of
/// sudden sun (silence_check says how often in which). The widths past a day are a judgement.
inline constexpr EnvelopeRule kTemperatureEnvelope{1.0, 3.0, -60.0, 120.0};
inline constexpr EnvelopeRule kHumidityEnvelope{2.65, 8.0, 0.0, 100.0};

/// One silence: from the last point of `known` to `after` (or going on). The envelope of a moment is the
/// range of: the readings within 2 h before, both edges, the same hours (UTC) of the last 7 recorded days;
/// widened with the root of the silence's length; more than 24 h after the last reading also the whole
/// range of the last 14 days. The middle is the mean of the same hours, else of the edges. Holds views into
/// the points: they must outlive it.
class Silence {
 public:
  /// `known` in time order, may be empty; `after` may be null; `until` is where the silence ends for now,
  /// which says how long it has lasted (a day where nothing is known).
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
  double widen_ = 0;
  std::optional<Range> near_;  ///< edges and the two hours before
  std::optional<Range> long_;  ///< the last 14 days
};

}  // namespace setwell::core
