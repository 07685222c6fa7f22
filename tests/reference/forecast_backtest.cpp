#include "tests/reference/forecast_backtest.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>
#include <vector>

#include "daemon/core/forecast_room.hpp"
#include "tests/reference/forecast_nights.hpp"

namespace setwell::reference {

using core::AirQuantity;
using core::HourIndex;
using core::kBandKnots;
using core::KnotValues;
using core::kPlainWays;

namespace {

constexpr std::size_t kKnotCount = kBandKnots.size();
constexpr HourIndex kMatured = 14 * 24;
/// Nobody has yesterday's same time before.
constexpr HourIndex kFirstCase = 24;
constexpr HourIndex kLeadIn = 36 * 24;
constexpr float kNothing = std::numeric_limits<float>::quiet_NaN();

using PlainErrors = std::array<std::array<float, kPlainWays>, kKnotCount>;

/// The plain way that had the least error over the cases of the last 14 days, with bands made from its own
/// errors as ours are.
class Comparator {
 public:
  /// The errors of an hour's plain forecasts are known in hindsight; they count once matured.
  void foretell(HourIndex hour, const core::ForecastView& view, AirQuantity quantity,
                const RecordedRoom& room) {
    first_ = errors_.empty() ? hour : first_;
    PlainErrors errors{};
    for (std::size_t i = 0; i < kKnotCount; ++i) {
      errors[i].fill(kNothing);
      const double told = room.value(quantity, hour + kBandKnots[i]);
      if (std::isnan(told) || !view.any()) continue;
      for (std::size_t way = 0; way < kPlainWays; ++way)
        errors[i][way] = static_cast<float>(std::fabs(view.plain(way, kBandKnots[i]) - told));
    }
    errors_.push_back(errors);
    for (std::size_t i = 0; i < kKnotCount; ++i) {
      mature(hour - kBandKnots[i], i, 1.0);
      mature(hour - kBandKnots[i] - kMatured, i, -1.0);
      best_[i] =
          static_cast<std::size_t>(std::min_element(sums_[i].begin(), sums_[i].end()) - sums_[i].begin());
    }
    KnotValues said{};
    for (std::size_t i = 0; i < kKnotCount; ++i)
      said[i] = view.any() ? static_cast<float>(view.plain(best_[i], kBandKnots[i])) : kNothing;
    log_.add(hour, said, said);
  }
  [[nodiscard]] std::size_t best(std::size_t knot) const { return best_[knot]; }
  [[nodiscard]] const core::IssueLog& log() const { return log_; }

 private:
  void mature(HourIndex hour, std::size_t knot, double sign) {
    if (hour < first_) return;
    const auto& errors = errors_[static_cast<std::size_t>(hour - first_)][knot];
    if (std::isnan(errors[0])) return;
    for (std::size_t way = 0; way < kPlainWays; ++way)
      sums_[knot][way] = std::max(0.0, sums_[knot][way] + sign * errors[way]);
  }
  HourIndex first_ = 0;
  std::vector<PlainErrors> errors_;
  std::array<std::array<double, kPlainWays>, kKnotCount> sums_{};
  std::array<std::size_t, kKnotCount> best_{};
  core::IssueLog log_;
};

core::Band band_around(double median, const core::Spread& s, AirQuantity quantity) {
  core::Band band{median + s.p5, median + s.p25, median, median + s.p75, median + s.p95};
  if (quantity == AirQuantity::temperature) return band;
  for (double* value : {&band.p5, &band.p25, &band.median, &band.p75, &band.p95})
    *value = std::clamp(*value, 0.0, 100.0);
  return band;
}

/// Scores one quantity's forecast of one hour.
void score(const RecordedRoom& room, AirQuantity quantity, HourIndex hour, const core::RoomForecaster& ours,
           const core::ForecastView& view, const Comparator& plain,
           std::array<Scores, kScored.size()>& scores) {
  const auto ahead = ours.learner().foretell(quantity, core::kForecastHours);
  const auto spreads = ours.spreads(quantity);
  const auto plain_spreads = core::spreads_of(plain.log().errors(ours.series(), quantity), quantity,
                                              core::moved_lately(ours.series(), quantity));
  for (std::size_t k = 0; k < kScored.size(); ++k) {
    const int h = kScored[k];
    const double told = room.value(quantity, hour + h);
    if (std::isnan(told)) continue;
    const auto knot =
        static_cast<std::size_t>(std::find(kBandKnots.begin(), kBandKnots.end(), h) - kBandKnots.begin());
    std::array<double, kPlainWays> missed{};
    for (std::size_t way = 0; way < kPlainWays; ++way)
      missed[way] = std::fabs(view.plain(way, h) - told);
    const double age = static_cast<double>(view.age());
    const double median = ahead[static_cast<std::size_t>(h) - 1].median;
    scores[k].take(band_around(median, spreads.spread(h + age), quantity),
                   band_around(view.plain(plain.best(knot), h), plain_spreads.spread(h + age), quantity),
                   missed, told);
  }
}

}  // namespace

RoomScores backtest(const RecordedRoom& room, const core::ForecastPrior& prior, int last_days) {
  RoomScores out;
  out.name = room.name;
  core::RoomForecaster ours(prior);
  std::array<Comparator, 2> plain;
  const auto count = static_cast<HourIndex>(room.hours.size());
  const HourIndex scored_from =
      last_days > 0 ? std::max(kFirstCase, count - HourIndex{24} * last_days) : kFirstCase;
  const HourIndex begin = last_days > 0 ? std::max<HourIndex>(0, scored_from - kLeadIn) : 0;
  out.days = static_cast<double>(count - begin) / 24.0;
  for (HourIndex i = begin; i < count; ++i) {
    const HourIndex hour = room.first + i;
    const auto& value = room.hours[static_cast<std::size_t>(i)];
    const auto started = std::chrono::steady_clock::now();
    ours.take(hour, value);
    const bool evening = (hour % 24 + 24) % 24 == 18;
    std::optional<core::Forecast> forecast;
    if (evening) forecast = ours.forecast(core::moment_of(hour), value);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - started;
    if (evening) {
      out.worst_ms = std::max(out.worst_ms, took.count());
      out.mean_ms += took.count() * 24.0 / static_cast<double>(count - begin);
    }
    for (const auto quantity : core::kAirQuantities) {
      const auto q = static_cast<std::size_t>(quantity);
      const core::ForecastView view(ours.series(), quantity, hour);
      plain[q].foretell(hour, view, quantity, room);
      if (i >= scored_from && view.any()) score(room, quantity, hour, ours, view, plain[q], out.scores[q]);
    }
    if (i >= scored_from && forecast) score_night(room, hour, *forecast, out);
  }
  out.state_bytes = ours.save().size();
  return out;
}

}  // namespace setwell::reference
