#include "sensors/screen/duplicates.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace setwell::screen {
namespace {

using quantity::DecodedValue;
using quantity::Instant;

/// One text or number decoded twice gives the same bits; by two ways the same reading may be printed
/// differently.
constexpr double kSameValue = 1e-6;

bool same_value(const DecodedValue& a, const DecodedValue& b) {
  return std::abs(a.number - b.number) <= kSameValue && a.unit == b.unit;
}

bool same_sequence(const DecodedValue& first, const DecodedValue& later) {
  if (!first.seq || first.seq != later.seq || !same_value(first, later)) return false;
  if (first.uptime && later.uptime && std::abs(*first.uptime - *later.uptime) > kSameValue) return false;
  return later.redelivered || later.measured - first.measured <= kSameSequence;
}

bool same_device_time(const DecodedValue& first, const DecodedValue& later) {
  const bool distinct = first.seq && later.seq && first.seq != later.seq;
  return first.by_device && later.by_device && first.measured == later.measured && !distinct;
}

bool repeats(const DecodedValue& first, const DecodedValue& later) {
  // A refused value never stands in the way of a good one.
  if (first.refusal && !later.refusal) return false;
  return same_device_time(first, later) || same_sequence(first, later);
}

bool repeats_an_earlier_one(Series series, std::size_t position) {
  for (std::size_t at = position; at-- > 0;) {
    const bool near = position - at <= kSearch;
    if (!near && series[at].measured != series[position].measured) return false;
    if (repeats(series[at], series[position])) return true;
  }
  return false;
}

bool is_anonymous(const DecodedValue& value) {
  return !value.by_device && !value.seq && !value.refusal;
}

/// Runs are followed from here: whole minutes, so that all values of one minute see the same run.
Instant run_start(Instant measured) {
  return std::chrono::floor<std::chrono::minutes>(measured) - (kRunReach - std::chrono::minutes(1));
}

bool repeats_by_another_way(Series series, std::size_t position) {
  const DecodedValue& value = series[position];
  if (!is_anonymous(value)) return false;
  const auto first = std::partition_point(
      series.begin(), series.begin() + static_cast<std::ptrdiff_t>(position),
      [from = run_start(value.measured)](const DecodedValue& v) { return v.measured < from; });
  std::optional<Instant> kept;
  bool repeat = false;
  for (auto at = first; at <= series.begin() + static_cast<std::ptrdiff_t>(position); ++at) {
    if (!is_anonymous(*at) || !same_value(*at, value)) continue;
    repeat = kept && at->measured - *kept <= kSameMeasurement;
    if (!repeat) kept = at->measured;
  }
  return repeat;
}

}  // namespace

Flags find_duplicates(const Rules& rules, Series series) {
  Flags duplicate(series.size(), 0);
  for (std::size_t at = 0; at < series.size(); ++at) {
    duplicate[at] =
        repeats_an_earlier_one(series, at) || (rules.several_ways && repeats_by_another_way(series, at));
  }
  return duplicate;
}

std::vector<bool> find_redeliveries(std::span<const Delivery> previous, std::span<const Delivery> current) {
  const auto last = previous.last(std::min(previous.size(), kInFlight));
  std::vector<bool> matched(last.size(), false);
  std::vector<bool> redelivery(current.size(), false);
  for (std::size_t i = 0; i < current.size(); ++i) {
    if (!current[i].redelivered) continue;
    for (std::size_t k = 0; k < last.size() && !redelivery[i]; ++k) {
      if (matched[k] || last[k].topic != current[i].topic || last[k].payload != current[i].payload) continue;
      matched[k] = true;
      redelivery[i] = true;
    }
  }
  return redelivery;
}

}  // namespace setwell::screen
