#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "sensors/quantity/time_zone.hpp"

namespace setwell::expectations {

/// Two zones by name, and no other: what a zone loader would answer.
inline std::optional<quantity::TimeZone> two_zones(std::string_view name) {
  using std::chrono::minutes;
  if (name == "UTC") return quantity::TimeZone("UTC", minutes(0), {});
  if (name == "Europe/Vienna") return quantity::TimeZone("Europe/Vienna", minutes(60), {});
  return std::nullopt;
}

}  // namespace setwell::expectations
