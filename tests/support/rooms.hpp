#pragma once

#include <cmath>
#include <map>
#include <random>
#include <string>

#include "daemon/core/air_history.hpp"
#include "daemon/core/coat_run.hpp"

/// Invented air for tests.
namespace setwell::tests {

/// Readings every `step` over [from, from + length], of `celsius(hours since from)` and 50 % unless said.
template <typename Celsius>
core::AirHistory room(quantity::Instant from, quantity::Span length, quantity::Span step, Celsius&& celsius,
                      double error = 0.5, double humidity = 50.0) {
  core::AirHistory air;
  for (quantity::Span at{0}; at <= length; at += step) {
    const double hours = quantity::Hours(at).count();
    air.put_temperature({from + at, celsius(hours), error});
    air.put_humidity({from + at, humidity, 5.0});
  }
  return air;
}

inline core::AirHistory steady_room(quantity::Instant from, quantity::Span length, double celsius,
                                    double error = 0.0, double humidity = 50.0) {
  return room(
      from, length, std::chrono::minutes(5), [=](double) { return celsius; }, error, humidity);
}

/// A day's wave about a mean.
inline auto wave(double mean, double amplitude) {
  return [=](double hours) { return mean + amplitude * std::sin(hours * 2 * 3.14159265358979 / 24); };
}

inline core::AirOf only(const core::AirHistory& air) {
  return [&air](const quantity::ZoneId&) { return &air; };
}

inline core::AirOf zones(const std::map<std::string, core::AirHistory>& by_name) {
  return [&by_name](const quantity::ZoneId& zone) -> const core::AirHistory* {
    const auto found = by_name.find(zone.text());
    return found == by_name.end() ? nullptr : &found->second;
  };
}

inline double uniform(std::mt19937& random, double from, double to) {
  return std::uniform_real_distribution<double>(from, to)(random);
}

}  // namespace setwell::tests
