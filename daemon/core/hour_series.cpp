#include "daemon/core/hour_series.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include "daemon/core/plain_bytes.hpp"
#include "sensors/air/saturation.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
/// Dry air has no vapour pressure to take a logarithm of.
constexpr double kDriest = 0.5;

std::int16_t hundredths(float value, std::int16_t silent) {
  if (!std::isfinite(value)) return silent;
  return static_cast<std::int16_t>(std::lround(std::clamp(value * 100.0F, -32000.0F, 32000.0F)));
}

}  // namespace

HourIndex hour_at_or_before(Instant at) {
  return std::chrono::floor<std::chrono::hours>(at).time_since_epoch().count();
}

Instant moment_of(HourIndex hour) {
  return Instant(std::chrono::hours(hour));
}

HourSeries::Hour HourSeries::hour_of(std::int16_t celsius, std::int16_t percent) {
  Hour hour{celsius, percent, std::numeric_limits<float>::quiet_NaN()};
  if (celsius != kSilent && percent != kSilent)
    hour.ln_vapour =
        static_cast<float>(std::log(air::vapour_pa(celsius / 100.0, std::max(percent / 100.0, kDriest))));
  return hour;
}

void HourSeries::push(std::int16_t celsius, std::int16_t percent) {
  hours_.push_back(hour_of(celsius, percent));
}

void HourSeries::correct(HourIndex hour, const HourValue& value) {
  if (hours_.empty() || hour < first_ || hour > last()) return;
  hours_[static_cast<std::size_t>(hour - first_)] =
      hour_of(hundredths(value.celsius, kSilent), hundredths(value.percent, kSilent));
}

void HourSeries::append(HourIndex hour, const HourValue& value) {
  if (hours_.empty() || hour > last() + kKept) {
    hours_.clear();
    first_ = hour;
  }
  while (!hours_.empty() && last() + 1 < hour)
    push(kSilent, kSilent);
  push(hundredths(value.celsius, kSilent), hundredths(value.percent, kSilent));
  const auto surplus = static_cast<HourIndex>(hours_.size()) - kKept;
  if (surplus <= 0) return;
  hours_.erase(hours_.begin(), hours_.begin() + surplus);
  first_ += surplus;
}

double HourSeries::value(AirQuantity quantity, HourIndex hour) const {
  if (hours_.empty() || hour < first_ || hour > last()) return kNothing;
  const Hour& found = hours_[static_cast<std::size_t>(hour - first_)];
  const auto stored = quantity == AirQuantity::temperature ? found.celsius : found.percent;
  return stored == kSilent ? kNothing : stored / 100.0;
}

double HourSeries::ln_vapour(HourIndex hour) const {
  if (hours_.empty() || hour < first_ || hour > last()) return kNothing;
  return hours_[static_cast<std::size_t>(hour - first_)].ln_vapour;
}

int HourSeries::told() const {
  return static_cast<int>(
      std::count_if(hours_.begin(), hours_.end(), [](const Hour& hour) { return hour.celsius != kSilent; }));
}

void HourSeries::save(std::string& bytes) const {
  put_bytes(bytes, first_);
  put_bytes(bytes, static_cast<std::uint32_t>(hours_.size()));
  for (const auto& hour : hours_) {
    put_bytes(bytes, hour.celsius);
    put_bytes(bytes, hour.percent);
  }
}

bool HourSeries::load(std::string_view& bytes) {
  std::uint32_t count = 0;
  hours_.clear();
  if (!take_bytes(bytes, first_) || !take_bytes(bytes, count) || count > kKept) return false;
  for (std::uint32_t i = 0; i < count; ++i) {
    std::int16_t celsius = 0;
    std::int16_t percent = 0;
    if (!take_bytes(bytes, celsius) || !take_bytes(bytes, percent)) return false;
    push(celsius, percent);
  }
  return true;
}

}  // namespace setwell::core
