#include "sensors/screen/settling.hpp"

#include <algorithm>
#include <vector>

namespace setwell::screen {
namespace {

using quantity::DecodedValue;
using quantity::Instant;

bool restarted_between(const DecodedValue& before, const DecodedValue& after) {
  if (before.uptime && after.uptime) return *after.uptime < *before.uptime;
  return before.seq && after.seq && *after.seq < *before.seq;
}

bool restarted_before(Series series, const Flags& duplicate, std::size_t position) {
  const std::size_t last = position > kSearch ? position - kSearch : 0;
  for (std::size_t at = position; at-- > last;) {
    if (!duplicate[at]) return restarted_between(series[at], series[position]);
  }
  return false;
}

std::vector<Instant> restarts(Series series, const Flags& duplicate, std::span<const Instant> births) {
  std::vector<Instant> moments(births.begin(), births.end());
  for (std::size_t at = 0; at < series.size(); ++at) {
    if (!duplicate[at] && restarted_before(series, duplicate, at)) moments.push_back(series[at].measured);
  }
  std::sort(moments.begin(), moments.end());
  return moments;
}

}  // namespace

Flags find_settling(const Rules& rules, Series series, const Flags& duplicate,
                    std::span<const Instant> births) {
  const auto moments = restarts(series, duplicate, births);
  Flags settling(series.size(), 0);
  for (std::size_t at = 0; at < series.size(); ++at) {
    const Instant measured = series[at].measured;
    const auto next = std::upper_bound(moments.begin(), moments.end(), measured);
    settling[at] = next != moments.begin() && measured < *std::prev(next) + rules.settle;
  }
  return settling;
}

}  // namespace setwell::screen
