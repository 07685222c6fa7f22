#include "tests/reference/forecast_nights.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "sensors/air/saturation.hpp"

namespace setwell::reference {

using core::AirQuantity;
using core::Forecast;
using core::HourIndex;

namespace {

constexpr std::size_t kNight = 14;  // 18:00 to 08:00
constexpr std::size_t kSoft = 6;    // hours until a coat is tack-free
constexpr double kDewMargin = 3.0;
constexpr double kNever = std::numeric_limits<double>::infinity();

/// Hours from the issue until a course first lies under a limit, between hours by interpolation.
double falls_under(const std::vector<double>& course, double limit) {
  for (std::size_t i = 1; i < course.size(); ++i) {
    if (course[i] >= limit) continue;
    const double over = course[i - 1] - limit;
    return over <= 0 ? static_cast<double>(i)
                     : static_cast<double>(i - 1) + over / (course[i - 1] - course[i]);
  }
  return kNever;
}

double least(const std::vector<double>& course) {
  return *std::min_element(course.begin() + 1, course.end());
}

template <typename Value>
std::vector<double> first_hours(const std::vector<Value>& values, std::size_t hours) {
  return {values.begin(), values.begin() + static_cast<std::ptrdiff_t>(hours) + 1};
}

double nth(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5)];
}

/// What was told from `hour` on; empty where an hour is missing.
std::vector<double> told(const RecordedRoom& room, AirQuantity quantity, HourIndex hour, std::size_t hours) {
  std::vector<double> out;
  for (std::size_t i = 0; i <= hours; ++i) {
    const double value = room.value(quantity, hour + static_cast<HourIndex>(i));
    if (std::isnan(value)) return {};
    out.push_back(value);
  }
  return out;
}

std::vector<double> margins(const std::vector<double>& air, const std::vector<double>& percent) {
  std::vector<double> out;
  for (std::size_t i = 0; i < air.size(); ++i) {
    const auto dew = air::dew_point_c(air::vapour_pa(air[i], std::max(percent[i], 0.5)));
    out.push_back(air[i] - dew.value_or(-60.0));
  }
  return out;
}

void score_fall(const std::vector<double>& median, const std::vector<std::vector<double>>& paths,
                const std::vector<double>& came, NightScores::Fall& fall) {
  if (came.front() < fall.limit_c) return;
  ++fall.asked;
  const double said = falls_under(median, fall.limit_c);
  const double fell = falls_under(came, fall.limit_c);
  if (said < kNever && fell < kNever) {
    ++fall.both;
    fall.hours_error += std::fabs(said - fell);
  }
  if (said == kNever && fell < kNever) ++fall.missed;
  if (said < kNever && fell == kNever) ++fall.false_alarms;
  std::vector<double> hours;
  for (const auto& path : paths)
    hours.push_back(falls_under(path, fall.limit_c));
  if (fell >= nth(hours, 0.05) && fell <= nth(hours, 0.95)) ++fall.inside;
}

}  // namespace

void score_night(const RecordedRoom& room, HourIndex hour, const Forecast& forecast, RoomScores& scores) {
  const auto came = told(room, AirQuantity::temperature, hour, kNight);
  const auto damp = told(room, AirQuantity::humidity, hour, kNight);
  if (came.empty() || damp.empty() || forecast.paths.empty()) return;
  std::vector<double> median;
  for (std::size_t i = 0; i <= kNight; ++i)
    median.push_back(forecast.steps[i].air_c.median);
  std::vector<std::vector<double>> paths;
  std::vector<double> minima;
  for (const auto& path : forecast.paths) {
    paths.push_back(first_hours(path.air_c, kNight));
    minima.push_back(least(paths.back()));
  }
  NightScores& night = scores.night;
  ++night.nights;
  night.minimum_error += std::fabs(nth(minima, 0.5) - least(came));
  if (least(came) >= nth(minima, 0.05) - 0.005 && least(came) <= nth(minima, 0.95) + 0.005)
    ++night.minimum_inside;
  for (auto& fall : night.falls)
    score_fall(median, paths, came, fall);

  const auto share = [&](auto overtaken) {
    double count = 0;
    for (const auto& path : forecast.paths)
      count += overtaken(first_hours(path.air_c, kSoft), first_hours(path.humidity_pct, kSoft)) ? 1 : 0;
    return count / static_cast<double>(forecast.paths.size());
  };
  const auto soft_air = first_hours(came, kSoft);
  const auto soft_damp = first_hours(damp, kSoft);
  for (const auto& fall : night.falls) {
    if (came.front() < fall.limit_c) continue;
    const auto under = [&](const auto& air, const auto&) { return falls_under(air, fall.limit_c) < kNever; };
    scores.under_floor.take(share(under), under(soft_air, soft_damp));
  }
  if (margins({came.front()}, {damp.front()}).front() < kDewMargin) return;
  const auto dewy = [](const auto& air, const auto& percent) {
    return falls_under(margins(air, percent), kDewMargin) < kNever;
  };
  scores.dew_margin.take(share(dewy), dewy(soft_air, soft_damp));
}

}  // namespace setwell::reference
