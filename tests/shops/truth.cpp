#include "tests/shops/truth.hpp"

#include <algorithm>
#include <cmath>

namespace setwell::shops {
namespace {

constexpr double kZeroCelsius = 273.15;
constexpr double kDampFilmsDryAlikeFrom = 0.2;

double saturation_hpa(double celsius) {
  return 6.112 * std::exp(17.62 * celsius / (243.12 + celsius));
}

/// How humidity changes the pace, 1 in the air of the sheet's test.
double humidity_pace(const TrueCoat& coat, const TrueAir& air, double surface) {
  if (coat.drying == Drying::by_temperature) return 1.0;
  const double vapour = air.percent / 100.0 * saturation_hpa(air.celsius);
  const double reference = coat.reference_percent / 100.0;
  if (coat.drying == Drying::by_taking_up_water) {
    return std::pow(vapour / (reference * saturation_hpa(surface)), coat.power);
  }
  const double driving = std::max(0.0, (1.0 - vapour / saturation_hpa(surface)) / (1.0 - reference));
  const double falling = std::clamp((1.0 - air.percent / 100.0) / kDampFilmsDryAlikeFrom, 0.0, 1.0);
  return std::pow(driving, coat.power) * std::pow(falling, 1.0 - coat.power);
}

class AirReader {
 public:
  explicit AirReader(const std::vector<TrueAir>& air) : air_(air) {}
  TrueAir at(double minute) {
    while (next_ < air_.size() && air_[next_].minute <= minute)
      ++next_;
    if (next_ == 0) return air_.front();
    if (next_ == air_.size()) return air_.back();
    const TrueAir& a = air_[next_ - 1];
    const TrueAir& b = air_[next_];
    const double part = (minute - a.minute) / (b.minute - a.minute);
    return {minute, a.celsius + (b.celsius - a.celsius) * part, a.percent + (b.percent - a.percent) * part};
  }

 private:
  const std::vector<TrueAir>& air_;
  std::size_t next_ = 0;
};

/// One coat on its way.
class Life {
 public:
  Life(const TrueCoat& coat, const std::vector<const TrueCurve*>& curves, double step, double dew_margin)
      : coat_(coat), curves_(curves), dew_margin_(dew_margin) {
    course_.step = step;
    course_.ways.resize(curves.size());
  }

  TrueCourse run(const std::vector<TrueAir>& air) {
    AirReader reader(air);
    double minute = coat_.poured;
    TrueAir here = at_piece(reader.at(minute));
    double surface = coat_.brought_in_at.value_or(here.celsius);
    for (TrueWay& way : course_.ways)
      way.progress.push_back(0);
    while (minute < air.back().minute && !all_reached()) {
      const double end = minute + course_.step;
      const TrueAir there = at_piece(reader.at(end));
      const double before = surface;
      const double target = 0.5 * (here.celsius + there.celsius);
      surface = target + (surface - target) * std::exp(-course_.step / coat_.lag);
      const double middle = 0.5 * (before + surface);
      const TrueAir mid{minute, target, 0.5 * (here.percent + there.percent)};
      suffer(mid, middle);
      go_on(minute, mid, middle);
      minute = end;
      here = there;
    }
    return std::move(course_);
  }

 private:
  TrueAir at_piece(TrueAir air) const {
    air.celsius += coat_.apart;
    return air;
  }

  [[nodiscard]] bool all_reached() const {
    return std::all_of(course_.ways.begin(), course_.ways.end(),
                       [](const TrueWay& way) { return way.reached.has_value(); });
  }

  void suffer(const TrueAir& air, double surface) {
    if (course_.ways.front().reached) return;
    TrueHardship& hard = course_.while_soft;
    hard.coldest = std::min(hard.coldest, surface);
    if (coat_.floor && surface < *coat_.floor) hard.under_floor += course_.step;
    const double margin = surface - true_dew_point(air.celsius, air.percent);
    hard.least_dew_margin = std::min(hard.least_dew_margin, margin);
    if (margin < dew_margin_) hard.close_to_dew += course_.step;
  }

  void go_on(double minute, const TrueAir& air, double surface) {
    const bool still = coat_.floor && surface < *coat_.floor;
    const double pace = still ? 0.0 : humidity_pace(coat_, air, surface) * coat_.film / coat_.pace;
    for (std::size_t i = 0; i < curves_.size(); ++i) {
      TrueWay& way = course_.ways[i];
      if (way.reached) continue;
      const double before = way.progress.back();
      const double gain = course_.step * pace / curves_[i]->minutes_at(surface);
      way.progress.push_back(before + gain);
      if (before + gain >= 1.0) way.reached = minute + course_.step * (1.0 - before) / gain;
    }
  }

  const TrueCoat& coat_;
  const std::vector<const TrueCurve*>& curves_;
  double dew_margin_;
  TrueCourse course_;
};

}  // namespace

double TrueCurve::ln_minutes_at(double celsius) const {
  if (rows_.size() == 1) return rows_.front().ln_minutes;
  std::size_t warm = 1;
  while (warm + 1 < rows_.size() && rows_[warm].celsius < celsius)
    ++warm;
  const TrueRow& a = rows_[warm - 1];
  const TrueRow& b = rows_[warm];
  const auto inverse = [](double c) { return 1.0 / (c + kZeroCelsius); };
  const double part = (inverse(celsius) - inverse(a.celsius)) / (inverse(b.celsius) - inverse(a.celsius));
  return a.ln_minutes + (b.ln_minutes - a.ln_minutes) * part;
}

double TrueCurve::minutes_at(double celsius) const {
  return std::exp(ln_minutes_at(celsius));
}

double TrueCourse::progress_at(std::size_t way, double minutes_since) const {
  const auto& progress = ways[way].progress;
  if (minutes_since <= 0) return 0;
  const double at = minutes_since / step;
  const auto index = static_cast<std::size_t>(at);
  if (index + 1 >= progress.size()) return progress.back();
  const double part = at - static_cast<double>(index);
  return progress[index] + (progress[index + 1] - progress[index]) * part;
}

TrueCourse live_through(const std::vector<TrueAir>& air, const TrueCoat& coat,
                        const std::vector<const TrueCurve*>& curves, double step, double dew_margin_asked) {
  return Life(coat, curves, step, dew_margin_asked).run(air);
}

double true_dew_point(double celsius, double percent) {
  const double y = std::log(std::max(percent, 0.1) / 100.0) + 17.62 * celsius / (243.12 + celsius);
  return 243.12 * y / (17.62 - y);
}

TrueAir true_air_at(const std::vector<TrueAir>& air, double minute) {
  if (minute <= air.front().minute) return air.front();
  if (minute >= air.back().minute) return air.back();
  const auto b = std::upper_bound(air.begin(), air.end(), minute,
                                  [](double at, const TrueAir& each) { return at < each.minute; });
  const auto a = b - 1;
  const double part = (minute - a->minute) / (b->minute - a->minute);
  return {minute, a->celsius + (b->celsius - a->celsius) * part,
          a->percent + (b->percent - a->percent) * part};
}

}  // namespace setwell::shops
