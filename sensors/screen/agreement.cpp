#include "sensors/screen/agreement.hpp"

#include <algorithm>

namespace setwell::screen {
namespace {

using quantity::Minutes;
using quantity::Span;

constexpr double kGoOnPerMinute = 0.1;
constexpr Minutes kGoOnFloorUntil{10.0};

bool is_humidity(quantity::MeasuredQuantity quantity) {
  return quantity == quantity::MeasuredQuantity::relative_humidity;
}

}  // namespace

Agreement::Agreement(quantity::MeasuredQuantity quantity)
    : agree_(is_humidity(quantity) ? Line{kAgreePercent, kAgreePercentPerMinute, kAgreeMostPercent}
                                   : Line{kAgreeKelvin, kAgreeKelvinPerMinute, kAgreeMostKelvin}),
      go_on_(is_humidity(quantity) ? Line{kContinuePercent, kGoOnPerMinute, kContinueMostPercent}
                                   : Line{kContinueKelvin, kGoOnPerMinute, kContinueMostKelvin}),
      far_(is_humidity(quantity) ? kFarPercent : kFarKelvin) {}

double Agreement::agree(Span apart) const {
  return std::min(agree_.floor + agree_.per_minute * Minutes(apart).count(), agree_.most);
}

double Agreement::far(Span apart) const {
  return agree(apart) + far_;
}

double Agreement::go_on(Span apart) const {
  const double beyond = std::max(0.0, (Minutes(apart) - kGoOnFloorUntil).count());
  return std::min(go_on_.floor + go_on_.per_minute * beyond, go_on_.most);
}

Span apart(const quantity::DecodedValue& a, const quantity::DecodedValue& b) {
  const Span span = a.measured < b.measured ? b.measured - a.measured : a.measured - b.measured;
  const bool uncertain =
      a.time == quantity::TimeQuality::uncertain || b.time == quantity::TimeQuality::uncertain;
  return uncertain ? std::max(span, Span(std::chrono::hours(1))) : span;
}

}  // namespace setwell::screen
