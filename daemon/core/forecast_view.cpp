#include "daemon/core/forecast_view.hpp"

#include <algorithm>
#include <cmath>

namespace setwell::core {

namespace {

constexpr HourIndex kDay = 24;
constexpr HourIndex kWeek = 7 * kDay;
constexpr std::array<double, 3> kFades{6.0, 24.0, 48.0};

struct Mean {
  double sum = 0;
  int count = 0;
  void take(double value) {
    if (std::isnan(value)) return;
    sum += value;
    ++count;
  }
  [[nodiscard]] double or_else(double other) const { return count > 0 ? sum / count : other; }
};

double or_zero(double value) {
  return std::isnan(value) ? 0.0 : value;
}

std::size_t hour_of_day(HourIndex hour) {
  return static_cast<std::size_t>(((hour % kDay) + kDay) % kDay);
}

/// Means by hour of the day over the `hours` up to `origin`; hours of the day never told take the mean of the
/// others, and where nothing was told all take `otherwise`.
template <typename ValueAt>
std::array<double, 24> daily_shape(HourIndex origin, HourIndex hours, double otherwise, ValueAt value_at) {
  std::array<Mean, 24> means{};
  for (HourIndex hour = origin - hours + 1; hour <= origin; ++hour)
    means[hour_of_day(hour)].take(value_at(hour));
  Mean all;
  std::array<double, 24> shape{};
  for (const auto& mean : means)
    all.take(mean.or_else(std::nan("")));
  for (std::size_t i = 0; i < shape.size(); ++i)
    shape[i] = means[i].or_else(all.or_else(otherwise));
  return shape;
}

double mean_of(const std::array<double, 24>& shape) {
  double sum = 0;
  for (const double value : shape)
    sum += value;
  return sum / static_cast<double>(shape.size());
}

}  // namespace

ForecastView::ForecastView(const HourSeries& series, AirQuantity quantity, HourIndex origin)
    : series_(&series), quantity_(quantity), origin_(origin) {
  find_now();
  if (!any_) return;
  const auto value_at = [&](HourIndex hour) { return series.value(quantity, hour); };
  week_ = daily_shape(origin, kWeek, now_, value_at);
  weeks_ = daily_shape(origin, 3 * kWeek, now_, value_at);
  departure_ = now_ - of_day(week_, 0);
  take_means();
}

void ForecastView::find_now() {
  if (series_->empty()) return;
  for (HourIndex hour = std::min(origin_, series_->last()); hour >= series_->first(); --hour) {
    const double value = series_->value(quantity_, hour);
    if (std::isnan(value)) continue;
    any_ = true;
    age_ = origin_ - hour;
    now_ = value;
    return;
  }
}

void ForecastView::take_means() {
  Mean today;
  Mean before;
  for (HourIndex back = 0; back < kDay; ++back) {
    today.take(at(back));
    before.take(at(back + kDay));
  }
  day_ = today.count > 0 ? today.or_else(0) - mean_of(week_) : departure_;
  day_rise_ = today.count > 0 && before.count > 0 ? today.or_else(0) - before.or_else(0) : 0.0;
  // Temperature goes with how damp the air is, humidity with how warm.
  const auto other_at = [&](HourIndex hour) {
    return quantity_ == AirQuantity::temperature ? series_->ln_vapour(hour)
                                                 : series_->value(AirQuantity::temperature, hour);
  };
  for (HourIndex hour = origin_ - age_; hour > origin_ - kDay; --hour) {
    const double now = other_at(hour);
    if (std::isnan(now)) continue;
    other_ = now - daily_shape(origin_, kWeek, now, other_at)[hour_of_day(origin_)];
    return;
  }
}

double ForecastView::of_day(const Shape& shape, HourIndex h) const {
  return shape[hour_of_day(origin_ + h)];
}

double ForecastView::shape(HourIndex h) const {
  return of_day(week_, h);
}

double ForecastView::bounded(double value) const {
  return quantity_ == AirQuantity::temperature ? value : std::clamp(value, 0.0, 100.0);
}

double ForecastView::same_time_yesterday(HourIndex h) const {
  const HourIndex days_back = (h + kDay - 1) / kDay;
  for (HourIndex day = days_back; day < days_back + 7; ++day) {
    const double value = at(day * kDay - h);
    if (!std::isnan(value)) return value;
  }
  return now_;
}

double ForecastView::plain(std::size_t way, HourIndex h) const {
  switch (way) {
    case 0:
      return now_;
    case 1:
      return same_time_yesterday(h);
    case 2:
      return bounded(now_ + shape(h) - shape(0));
    default:
      return bounded(shape(h) + departure_ * carried(way, h));
  }
}

double ForecastView::carried(std::size_t way, HourIndex h) {
  if (way == 0 || way == 2) return 1.0;
  return way == 1 ? 0.0 : std::exp(-static_cast<double>(h) / kFades[way - 3]);
}

/// How much more than the shape it rose over the last hours.
double ForecastView::rise_over(HourIndex hours) const {
  return or_zero(now_ - at(hours)) - (shape(0) - shape(-hours));
}

Features ForecastView::features(HourIndex h) const {
  const double ahead = shape(h);
  const double last_week = at(kWeek - h);
  return {departure_,
          rise_over(1),
          rise_over(3),
          day_,
          same_time_yesterday(h) - ahead,
          or_zero(last_week - ahead),
          ahead - shape(0),
          day_rise_,
          or_zero(at(kDay) - shape(0)),
          other_,
          1.0,
          of_day(weeks_, h) - ahead,
          or_zero(at(kWeek) - shape(0))};
}

}  // namespace setwell::core
