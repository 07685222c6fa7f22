#include "daemon/core/forecast_bands.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/core/plain_bytes.hpp"

namespace setwell::core {

namespace {

constexpr std::int16_t kUnknown = -32768;
constexpr float kNothing = std::numeric_limits<float>::quiet_NaN();
/// So many errors at a knot, one every third hour, are five days of them.
constexpr std::size_t kEnough = 40;

std::int16_t hundredths(float value) {
  if (!std::isfinite(value)) return kUnknown;
  return static_cast<std::int16_t>(std::lround(std::clamp(value * 100.0F, -32000.0F, 32000.0F)));
}

/// Half-widths of the general 90 % band at 1, 6, 24 and 48 h: wider than those of nine rooms in ten.
constexpr std::array<double, 4> kGeneralHours{1, 6, 24, 48};
constexpr std::array<double, 4> kGeneralKelvin{1.0, 2.0, 3.0, 4.0};
constexpr std::array<double, 4> kGeneralPercent{4.0, 8.0, 12.0, 15.0};

double general_half(AirQuantity quantity, double h, double moved) {
  const auto& halves = quantity == AirQuantity::temperature ? kGeneralKelvin : kGeneralPercent;
  const double usual_move = quantity == AirQuantity::temperature ? 4.0 : 20.0;
  std::size_t i = 0;
  while (i + 2 < halves.size() && h > kGeneralHours[i + 1])
    ++i;
  const double f = std::clamp((h - kGeneralHours[i]) / (kGeneralHours[i + 1] - kGeneralHours[i]), 0.0, 1.0);
  return (halves[i] + (halves[i + 1] - halves[i]) * f) * std::max(1.0, moved / usual_move);
}

/// The value below which `share` of the next ones will lie, from sorted ones.
double quantile(const std::vector<float>& sorted, double share) {
  const double n = static_cast<double>(sorted.size());
  const double rank = std::clamp(share * (n + 1), 1.0, n) - 1.0;
  const auto low = static_cast<std::size_t>(rank);
  const auto high = std::min(low + 1, sorted.size() - 1);
  return sorted[low] + (sorted[high] - sorted[low]) * (rank - static_cast<double>(low));
}

Spread between(const Spread& a, const Spread& b, double f) {
  const auto mix = [f](double x, double y) { return x + (y - x) * f; };
  return {mix(a.p5, b.p5), mix(a.p25, b.p25), mix(a.p75, b.p75), mix(a.p95, b.p95)};
}

Spread spread_of(std::vector<float> errors) {
  std::sort(errors.begin(), errors.end());
  return {std::min(0.0, quantile(errors, 0.05)), std::min(0.0, quantile(errors, 0.25)),
          std::max(0.0, quantile(errors, 0.75)), std::max(0.0, quantile(errors, 0.95))};
}

void at_least(Spread& spread, const Spread& nearer) {
  const double wider = nearer.p95 - nearer.p5;
  const double here = spread.p95 - spread.p5;
  if (here >= wider || here <= 0) return;
  spread.p5 *= wider / here;
  spread.p95 *= wider / here;
}

}  // namespace

void IssueLog::add(HourIndex hour, const KnotValues& temperature, const KnotValues& humidity) {
  if (hour % kEvery != 0) return;
  Issue issue{hour, {}};
  std::transform(temperature.begin(), temperature.end(), issue.said[0].begin(), hundredths);
  std::transform(humidity.begin(), humidity.end(), issue.said[1].begin(), hundredths);
  issues_.push_back(issue);
  std::erase_if(issues_, [hour](const Issue& old) { return old.hour <= hour - kKept; });
}

std::vector<KnotValues> IssueLog::errors(const HourSeries& series, AirQuantity quantity) const {
  std::vector<KnotValues> out;
  out.reserve(issues_.size());
  for (const auto& issue : issues_) {
    const auto& said = issue.said[static_cast<std::size_t>(quantity)];
    KnotValues errors{};
    for (std::size_t i = 0; i < errors.size(); ++i) {
      const double told = series.value(quantity, issue.hour + kBandKnots[i]);
      errors[i] = said[i] == kUnknown ? kNothing : static_cast<float>(told - said[i] / 100.0);
    }
    out.push_back(errors);
  }
  return out;
}

void IssueLog::save(std::string& bytes) const {
  put_bytes(bytes, static_cast<std::uint32_t>(issues_.size()));
  for (const auto& issue : issues_) {
    put_bytes(bytes, issue.hour);
    put_bytes(bytes, issue.said);
  }
}

bool IssueLog::load(std::string_view& bytes) {
  std::uint32_t count = 0;
  if (!take_bytes(bytes, count) || count > kKept) return false;
  issues_.assign(count, {});
  for (auto& issue : issues_) {
    if (!take_bytes(bytes, issue.hour) || !take_bytes(bytes, issue.said)) return false;
  }
  return true;
}

Spread Spreads::spread(double h) const {
  if (h <= 0) return {};
  if (h <= kBandKnots.front()) return between({}, at.front(), h / kBandKnots.front());
  const auto above = std::lower_bound(kBandKnots.begin(), kBandKnots.end(), h);
  if (above == kBandKnots.end()) return at.back();
  const auto i = static_cast<std::size_t>(above - kBandKnots.begin());
  return between(at[i - 1], at[i], (h - kBandKnots[i - 1]) / (kBandKnots[i] - kBandKnots[i - 1]));
}

Spreads spreads_of(std::span<const KnotValues> errors, AirQuantity quantity, double moved) {
  Spreads out;
  out.general = false;
  for (std::size_t i = 0; i < kBandKnots.size(); ++i) {
    std::vector<float> known;
    for (const auto& each : errors) {
      if (!std::isnan(each[i])) known.push_back(each[i]);
    }
    if (known.size() >= kEnough) {
      out.at[i] = spread_of(std::move(known));
    } else {
      const double half = general_half(quantity, kBandKnots[i], moved);
      out.at[i] = {-half, -half / 2.5, half / 2.5, half};
      out.general = true;
    }
    if (i > 0) at_least(out.at[i], out.at[i - 1]);
  }
  return out;
}

double error_at(const KnotValues& errors, double h) {
  if (h <= 0) return 0;
  if (h <= kBandKnots.front()) return errors.front() * h / kBandKnots.front();
  const auto above = std::lower_bound(kBandKnots.begin(), kBandKnots.end(), h);
  if (above == kBandKnots.end()) return errors.back();
  const auto i = static_cast<std::size_t>(above - kBandKnots.begin());
  const double f = (h - kBandKnots[i - 1]) / (kBandKnots[i] - kBandKnots[i - 1]);
  return errors[i - 1] + (errors[i] - errors[i - 1]) * f;
}

}  // namespace setwell::core
