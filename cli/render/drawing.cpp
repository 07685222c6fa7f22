#include "cli/render/drawing.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

#include "cli/render/page.hpp"

namespace setwell::cli {
namespace {

constexpr int kRows = 6;
constexpr int kHalves = 2 * kRows;
constexpr int kScale = 10;
/// A still day is not blown up to the drawing's full height.
constexpr double kLeastSpan = 3;
constexpr std::size_t kHoursPerMark = 6;

struct Scale {
  double low = 0;
  double high = 0;
};

Scale scale_of(const std::vector<api::AirHour>& hours) {
  std::optional<Scale> scale;
  for (const auto& hour : hours) {
    if (!hour.least_c || !hour.most_c) continue;
    if (!scale) scale = Scale{*hour.least_c, *hour.most_c};
    scale->low = std::min(scale->low, *hour.least_c);
    scale->high = std::max(scale->high, *hour.most_c);
  }
  if (!scale) return {};
  const double middle = (scale->low + scale->high) / 2;
  const double half = std::max(kLeastSpan, scale->high - scale->low) / 2;
  return {middle - half, middle + half};
}

/// Which half row, from the bottom, a temperature falls into.
int half_row(double celsius, const Scale& scale) {
  const double share = (celsius - scale.low) / (scale.high - scale.low);
  return std::clamp(static_cast<int>(std::floor(share * kHalves)), 0, kHalves - 1);
}

std::string_view cell(const api::AirHour& hour, int row, const Scale& scale) {
  if (!hour.least_c || !hour.most_c) return " ";
  const int low = half_row(*hour.least_c, scale);
  const int high = half_row(*hour.most_c, scale);
  const auto covers = [&](int half) { return half >= low && half <= high; };
  const bool lower = covers(2 * row);
  const bool upper = covers(2 * row + 1);
  if (lower && upper) return "█";
  if (lower) return "▄";
  return upper ? "▀" : " ";
}

std::string label_of(int row, const Scale& scale, const Reading& reading) {
  if (row == kRows - 1) return reading.temperature(scale.high);
  if (row == 0) return reading.temperature(scale.low);
  return "";
}

std::string without_end_spaces(std::string text) {
  text.erase(text.find_last_not_of(' ') + 1);
  return text;
}

std::string right(std::string_view text) {
  return std::string(static_cast<std::size_t>(std::max(0, kScale - columns(text))), ' ') + std::string(text);
}

std::string temperature_row(const std::vector<api::AirHour>& hours, int row, const Scale& scale,
                            const Reading& reading) {
  auto line = right(label_of(row, scale, reading)) + " │";
  for (const auto& hour : hours)
    line += cell(hour, row, scale);
  return without_end_spaces(line);
}

std::string base_line(const std::vector<api::AirHour>& hours) {
  auto line = right("") + " └";
  for (const auto& hour : hours)
    line += hour.silent ? "·" : "─";
  return line;
}

std::string humidity_row(const std::vector<api::AirHour>& hours) {
  constexpr std::array<std::string_view, 8> kBars{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  auto line = right("0..100 %") + "  ";
  for (const auto& hour : hours) {
    const auto level = std::clamp(static_cast<int>(hour.mean_pct.value_or(0) * 8 / 100), 0, 7);
    line += hour.mean_pct ? kBars.at(static_cast<std::size_t>(level)) : " ";
  }
  return without_end_spaces(line);
}

std::string hour_marks(const std::vector<api::AirHour>& hours, const Reading& reading) {
  auto line = right("hour") + "  ";
  for (std::size_t i = 0; i < hours.size(); i += kHoursPerMark)
    line += padded(reading.hour(hours[i].from), static_cast<int>(kHoursPerMark));
  return without_end_spaces(line);
}

}  // namespace

std::vector<std::string> draw_day(const std::vector<api::AirHour>& hours, const Reading& reading) {
  const auto scale = scale_of(hours);
  if (scale.high <= scale.low) return {};
  std::vector<std::string> lines;
  for (int row = kRows - 1; row >= 0; --row)
    lines.push_back(temperature_row(hours, row, scale, reading));
  lines.push_back(base_line(hours));
  lines.push_back(humidity_row(hours));
  lines.push_back(hour_marks(hours, reading));
  const bool silent = std::any_of(hours.begin(), hours.end(), [](const auto& hour) { return hour.silent; });
  if (silent) lines.push_back(right("·") + "  no trusted reading in some or all of that hour");
  return lines;
}

}  // namespace setwell::cli
