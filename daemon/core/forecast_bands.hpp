#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/hour_series.hpp"

/// Bands from the errors that past forecasts really made (split conformal: no distribution is assumed).
namespace setwell::core {

/// Hours ahead at which errors are kept; between them spreads are linear.
inline constexpr std::array<int, 12> kBandKnots{1, 2, 3, 6, 9, 12, 18, 24, 30, 36, 42, 48};
/// What was said for each of kBandKnots, or how far off it was (told less foretold); NaN where not known.
using KnotValues = std::array<float, kBandKnots.size()>;

/// What was foretold, every third hour of the last 16 days: 14 days of errors 48 h ahead.
class IssueLog {
 public:
  static constexpr HourIndex kEvery = 3;
  static constexpr HourIndex kKept = 16 * 24;
  /// Keeps what was foretold at `hour`; hours that are no multiple of kEvery are passed over.
  void add(HourIndex hour, const KnotValues& temperature, const KnotValues& humidity);
  /// Oldest first; what is not told yet, or fell into a silence, is NaN.
  [[nodiscard]] std::vector<KnotValues> errors(const HourSeries& series, AirQuantity quantity) const;
  [[nodiscard]] bool empty() const { return issues_.empty(); }

  struct Issue {
    HourIndex hour = 0;
    std::array<std::array<std::int16_t, kBandKnots.size()>, 2> said{};  ///< hundredths
  };
  [[nodiscard]] const std::vector<Issue>& issues() const { return issues_; }

  void save(std::string& bytes) const;
  [[nodiscard]] bool load(std::string_view& bytes);

 private:
  std::vector<Issue> issues_;
};

/// Distances from the median; p5 and p25 are not positive, p75 and p95 not negative.
struct Spread {
  double p5 = 0, p25 = 0, p75 = 0, p95 = 0;
};

struct Spreads {
  std::array<Spread, kBandKnots.size()> at{};
  bool general = true;  ///< less than five days of errors: wide ones that fit most rooms
  /// `h` hours ahead, 0 … 48.
  [[nodiscard]] Spread spread(double h) const;
};

/// From errors in order of time, newest last. `moved` is how far the values of the last days lie apart: a
/// room that swings more has wider general bands.
[[nodiscard]] Spreads spreads_of(std::span<const KnotValues> errors, AirQuantity quantity, double moved);

/// An error `h` hours ahead, between knots; nothing ahead is 0.
[[nodiscard]] double error_at(const KnotValues& errors, double h);

}  // namespace setwell::core
