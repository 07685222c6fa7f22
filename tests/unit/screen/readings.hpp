#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "sensors/screen/screen.hpp"

namespace setwell::tests {

inline quantity::Instant morning() {
  return std::chrono::sys_days(std::chrono::year(2031) / 3 / 4) + std::chrono::hours(10);
}

inline quantity::DecodedValue reading(double value, quantity::Instant at) {
  quantity::DecodedValue decoded;
  decoded.value = decoded.number = value;
  decoded.unit = quantity::Unit::deg_c;
  decoded.measured = decoded.received = at;
  decoded.power_on = value == 85.0;
  decoded.topic = "shop/bench/t";
  return decoded;
}

/// One value every `step`, from ten in the morning.
inline std::vector<quantity::DecodedValue> every(quantity::Span step, const std::vector<double>& values) {
  std::vector<quantity::DecodedValue> series;
  for (const double value : values) {
    series.push_back(reading(value, morning() + step * static_cast<std::int64_t>(series.size())));
  }
  return series;
}
inline std::vector<quantity::DecodedValue> each_minute(const std::vector<double>& values) {
  return every(std::chrono::minutes(1), values);
}

inline screen::Rules thermometer() {
  return {};
}
inline screen::Rules hygrometer() {
  return {quantity::MeasuredQuantity::relative_humidity};
}

/// One letter or reason per value: `J` judged, `w` waits, `s` settles, `c` clamped and judged, `u` uncertain
/// time, `b` bad time, else the word of its refusal; with blanks between.
inline std::string shown(const screen::Verdict& verdict) {
  if (verdict.refused) return std::string(word(*verdict.refused));
  switch (verdict.quality) {
    case quantity::Quality::time_bad:
      return "b";
    case quantity::Quality::time_uncertain:
      return "u";
    case quantity::Quality::settling:
      return "s";
    case quantity::Quality::clamped:
      return verdict.judged ? "c" : "w";
    case quantity::Quality::good:
      return verdict.judged ? "J" : "w";
  }
  return "?";
}

inline std::string verdicts(const screen::Rules& rules, const std::vector<quantity::DecodedValue>& series,
                            const std::vector<quantity::Instant>& births = {}) {
  std::string text;
  for (const auto& verdict : screen::screen(rules, series, births)) {
    text += (text.empty() ? "" : " ") + shown(verdict);
  }
  return text;
}

}  // namespace setwell::tests
