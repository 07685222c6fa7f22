#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numeric>

#include "cli/render/chart.hpp"

namespace setwell::cli {

using quantity::Instant;

std::vector<double> round_ticks(double least, double most, int count) {
  const double span = std::max(most - least, 1e-9);
  const double raw = span / std::max(count, 1);
  const double decade = std::pow(10.0, std::floor(std::log10(raw)));
  double step = 10 * decade;
  for (const double nice : {1.0, 2.0, 5.0}) {
    if (nice * decade >= raw * (1 - 1e-9)) {
      step = nice * decade;
      break;
    }
  }
  const auto first = static_cast<long>(std::floor(least / step + 1e-9));
  const auto last = static_cast<long>(std::ceil(most / step - 1e-9));
  std::vector<double> ticks;
  for (long i = first; i <= std::max(last, first + 1); ++i)
    ticks.push_back(static_cast<double>(i) * step);
  return ticks;
}

std::vector<Instant> time_ticks(Instant from, Instant to, std::chrono::minutes offset, int count) {
  constexpr std::array<int, 13> kHours{1, 2, 3, 6, 12, 24, 48, 96, 168, 336, 672, 1344, 2688};
  const double hours = quantity::hours_between(from, to).count();
  int step = kHours.back();
  for (const int candidate : kHours) {
    if (hours / candidate <= count) {
      step = candidate;
      break;
    }
  }
  const auto width = std::chrono::hours(step);
  std::vector<Instant> ticks;
  auto local = std::chrono::floor<std::chrono::hours>(from + offset).time_since_epoch();
  local -= local % width;
  for (Instant at{local - offset}; at <= to; at += width) {
    if (at >= from) ticks.push_back(at);
  }
  return ticks;
}

std::vector<double> spread_apart(const std::vector<double>& wanted, double apart, double low, double high) {
  std::vector<std::size_t> order(wanted.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return wanted[a] < wanted[b]; });
  std::vector<double> placed(wanted.size());
  double next = low;
  for (const auto i : order) {
    placed[i] = std::max(wanted[i], next);
    next = placed[i] + apart;
  }
  double limit = high;
  for (auto i = order.rbegin(); i != order.rend(); ++i) {
    placed[*i] = std::min(placed[*i], limit);
    limit = placed[*i] - apart;
  }
  return placed;
}

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out += c;
    }
  }
  return out;
}

}  // namespace setwell::cli
