#pragma once

#include <array>
#include <cstddef>

#include "daemon/core/hour_series.hpp"

/// What a series says at one hour, and the plain ways of foretelling from there. Nothing later is looked at.
namespace setwell::core {

/// The plain ways: persistence; the same time yesterday; persistence with the 7-day daily shape; three that
/// fall back to that shape within 6, 24 and 48 h.
inline constexpr std::size_t kPlainWays = 6;
/// What the learned ways go by, all as differences from the daily shape; one of them is constant.
inline constexpr std::size_t kFeatures = 13;
using Features = std::array<double, kFeatures>;
inline constexpr std::size_t kConstantFeature = 10;

/// The series of a quantity as it stood at `origin`. Holds a view: the series must outlive it.
class ForecastView {
 public:
  ForecastView(const HourSeries& series, AirQuantity quantity, HourIndex origin);
  /// Whether anything was told by then; nothing below may be asked otherwise.
  [[nodiscard]] bool any() const { return any_; }
  /// Hours since the last value that was told.
  [[nodiscard]] HourIndex age() const { return age_; }
  [[nodiscard]] double now() const { return now_; }

  /// The 7-day daily shape, `h` hours ahead.
  [[nodiscard]] double shape(HourIndex h) const;
  /// `way` < kPlainWays. Humidity stays within 0 and 100 %.
  [[nodiscard]] double plain(std::size_t way, HourIndex h) const;
  [[nodiscard]] Features features(HourIndex h) const;
  /// Per cent end at 0 and 100; degrees do not.
  [[nodiscard]] double bounded(double value) const;

  /// How much of a change of the value now a plain way carries `h` hours ahead.
  [[nodiscard]] static double carried(std::size_t way, HourIndex h);

 private:
  using Shape = std::array<double, 24>;
  [[nodiscard]] double at(HourIndex back) const { return series_->value(quantity_, origin_ - back); }
  [[nodiscard]] double same_time_yesterday(HourIndex h) const;
  [[nodiscard]] double of_day(const Shape& shape, HourIndex h) const;
  [[nodiscard]] double rise_over(HourIndex hours) const;
  void find_now();
  void take_means();

  const HourSeries* series_;
  AirQuantity quantity_;
  HourIndex origin_;
  bool any_ = false;
  HourIndex age_ = 0;
  double now_ = 0;
  Shape week_{}, weeks_{};  ///< of 7 and of 21 days, by hour of the day (UTC)
  double departure_ = 0;    ///< now from the shape
  double day_ = 0;          ///< the last 24 h from the shape, on average
  double day_rise_ = 0;     ///< the last 24 h less those before
  double other_ = 0;        ///< how far the other quantity is from its own shape
};

}  // namespace setwell::core
