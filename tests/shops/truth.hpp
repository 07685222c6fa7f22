#pragma once

#include <cstddef>
#include <optional>
#include <vector>

/// What really happens to a coat in a simulated shop. Its own arithmetic, of the standard library alone:
/// nothing here may come from the programs that are judged by it (the layering test holds that).
///
/// Minutes count from the start of the shop's air. Temperatures are °C, humidity is relative in %.
namespace setwell::shops {

/// The real air of a room at one time; linear between two.
struct TrueAir {
  double minute = 0;
  double celsius = 0;
  double percent = 0;
};

/// A milestone's real time at one temperature.
struct TrueRow {
  double celsius = 0;
  double ln_minutes = 0;
};

/// The real time of a milestone as a function of temperature: ln t goes linearly in 1/T between rows, and
/// beyond the last ones as between the last two (with a single row: not at all).
class TrueCurve {
 public:
  TrueCurve() = default;
  /// At least one row, rising temperature.
  explicit TrueCurve(std::vector<TrueRow> rows) : rows_(std::move(rows)) {}
  [[nodiscard]] double ln_minutes_at(double celsius) const;
  [[nodiscard]] double minutes_at(double celsius) const;
  [[nodiscard]] bool stated() const { return !rows_.empty(); }

 private:
  std::vector<TrueRow> rows_;
};

/// How humidity takes part in the drying.
enum class Drying { by_temperature, by_evaporating_water, by_taking_up_water };

struct TrueCoat {
  double poured = 0;                    ///< minute of the (last) pass
  std::optional<double> brought_in_at;  ///< °C of a piece that came from elsewhere
  double lag = 10;                      ///< minutes by which its surface follows the air
  double apart = 0;                     ///< K by which the air at the piece differs from the room's
  double pace = 1;                      ///< the piece's own factor on all its times
  std::optional<double> floor;          ///< °C under which nothing goes on
  double film = 1;                      ///< factor on all rates
  Drying drying = Drying::by_temperature;
  double power =
      1;  ///< water: how much of the driving force counts, 0 to 1; moisture: the exponent, 0.5 to 1
  double reference_percent = 50;
};

/// One clock's real way.
struct TrueWay {
  std::optional<double> reached;  ///< minute
  std::vector<double> progress;   ///< at every step from the pouring on
};

/// What the air did to the coat before a moment.
struct TrueHardship {
  double coldest = 1e9;    ///< °C of the surface
  double under_floor = 0;  ///< minutes
  double least_dew_margin = 1e9;
  double close_to_dew = 0;  ///< minutes with less than the margin asked for
};

struct TrueCourse {
  double step = 1;  ///< minutes
  std::vector<TrueWay> ways;
  TrueHardship while_soft;  ///< until the first way is reached
  /// How far a way had come so many minutes after the pouring.
  [[nodiscard]] double progress_at(std::size_t way, double minutes_since) const;
};

/// Carries a coat through the real air until every way is reached or the air ends. `curves`: one way each;
/// the first is the one that ends the coat's softness. `step` in minutes: short against lag and times.
[[nodiscard]] TrueCourse live_through(const std::vector<TrueAir>& air, const TrueCoat& coat,
                                      const std::vector<const TrueCurve*>& curves, double step,
                                      double dew_margin_asked);

/// °C of the dew point, by the Magnus formula over water.
[[nodiscard]] double true_dew_point(double celsius, double percent);

/// Room air at a minute (held beyond both ends).
[[nodiscard]] TrueAir true_air_at(const std::vector<TrueAir>& air, double minute);

}  // namespace setwell::shops
