#pragma once

#include <chrono>
#include <utility>
#include <vector>

#include "sensors/quantity/time_zone.hpp"

namespace setwell::tests {

/// Central European time written out by the rule of the European Union: last Sundays of March and October,
/// 01:00 UTC.
inline quantity::TimeZone berlin() {
  using namespace std::chrono;
  std::vector<quantity::TimeZone::Change> changes;
  for (int y = 2020; y <= 2045; ++y) {
    const quantity::Instant spring = sys_days(year(y) / March / Sunday[last]) + hours(1);
    const quantity::Instant autumn = sys_days(year(y) / October / Sunday[last]) + hours(1);
    changes.push_back({spring, hours(2)});
    changes.push_back({autumn, hours(1)});
  }
  return {"Europe/Berlin", hours(1), std::move(changes)};
}

}  // namespace setwell::tests
