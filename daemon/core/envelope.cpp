#include "daemon/core/envelope.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace setwell::core {

using quantity::Instant;
using std::chrono::days;
using std::chrono::floor;
using std::chrono::hours;

namespace {

// What is assumed where a zone has no reading at all: any workshop's air.
constexpr Stretch kNothingKnownTemperature{true, false, 0, 0, 0, -40.0, 60.0, 20.0};
constexpr Stretch kNothingKnownHumidity{true, false, 0, 0, 0, 0.0, 100.0, 50.0};

std::span<const AirPoint> between(std::span<const AirPoint> points, Instant from, Instant to) {
  const auto earlier = [](const AirPoint& p, Instant t) { return p.at < t; };
  const auto first = std::lower_bound(points.begin(), points.end(), from, earlier);
  const auto last = std::lower_bound(first, points.end(), to, earlier);
  return {first, last};
}

}  // namespace

Silence::Silence(std::span<const AirPoint> known, const AirPoint* after, Instant until, EnvelopeRule rule)
    : known_(known), after_(after), rule_(rule) {
  const quantity::Span day = hours(24);
  const quantity::Span lasted = known_.empty() ? day : std::min(day, until - known_.back().at);
  widen_ = rule_.per_root_hour * std::sqrt(std::max(0.0, quantity::Hours(lasted).count()));
  if (after_) {
    take(near_, after_->value);
    error_ = after_->error;
  }
  if (known_.empty()) return;
  const AirPoint& before = known_.back();
  error_ = std::max(error_, before.error);
  for (const AirPoint& p : between(known_, before.at - hours(2), before.at + hours(1)))
    take(near_, p.value);
  if (until - before.at <= hours(24)) return;
  long_ = near_;
  for (const AirPoint& p : between(known_, before.at - days(14), before.at))
    take(long_, p.value);
}

void Silence::take(std::optional<Range>& range, double value) const {
  if (!range) range = Range{value, value};
  range->least = std::min(range->least, value);
  range->most = std::max(range->most, value);
}

void Silence::take_same_hours(std::optional<Range>& range, double& sum, int& count, Instant from,
                              Instant to) const {
  const auto last_known = floor<hours>(known_.back().at);
  const auto first_hour = floor<hours>(from);
  const int span =
      static_cast<int>(std::min<long>(24, (floor<hours>(to - quantity::Span(1)) - first_hour).count() + 1));
  for (int h = 0; h < span; ++h) {
    auto hour = first_hour + hours(h);
    // The hour that the silence began in is the edge's, no other day's.
    hour -= days(std::max<long>(1, (hour - last_known + hours(23)) / hours(24)));
    for (int day = 0; day < 7; ++day, hour -= days(1)) {
      for (const AirPoint& p : between(known_, hour, hour + hours(1))) {
        take(range, p.value);
        sum += p.value;
        ++count;
      }
    }
  }
}

double Silence::edges_mean() const {
  if (known_.empty()) return after_->value;
  return after_ ? 0.5 * (known_.back().value + after_->value) : known_.back().value;
}

Stretch Silence::over(Instant from, Instant to) const {
  if (known_.empty() && !after_) return rule_.most > 100.0 ? kNothingKnownTemperature : kNothingKnownHumidity;
  std::optional<Range> range = near_;
  double sum = 0;
  int count = 0;
  if (!known_.empty()) take_same_hours(range, sum, count, from, to);
  const double widen = std::max(widen_, error_);
  Range out{range->least - widen, range->most + widen};
  if (long_ && to - known_.back().at > hours(24)) {
    const double wider = std::max(rule_.widen_long, error_);
    out.least = std::min(out.least, long_->least - wider);
    out.most = std::max(out.most, long_->most + wider);
  }
  Stretch s;
  s.silent = true;
  s.closed = !known_.empty() && after_;
  s.least = std::clamp(out.least, rule_.least, rule_.most);
  s.most = std::clamp(out.most, rule_.least, rule_.most);
  s.middle = std::clamp(count > 0 ? sum / count : edges_mean(), s.least, s.most);
  s.error = error_;
  return s;
}

}  // namespace setwell::core
