#include <array>
#include <charconv>
#include <optional>

#include <fmt/format.h>

#include "daemon/core/time_phrase.hpp"

namespace setwell::core {
namespace {

using quantity::Span;

struct Unit {
  std::string_view word;
  Span length;
};
constexpr std::array kUnits{
    Unit{"d", std::chrono::days(1)},      Unit{"h", std::chrono::hours(1)},
    Unit{"min", std::chrono::minutes(1)}, Unit{"m", std::chrono::minutes(1)},
    Unit{"s", std::chrono::seconds(1)},
};
constexpr Span kLongest = std::chrono::days(366);

void skip_spaces(std::string_view& rest) {
  while (rest.starts_with(' '))
    rest.remove_prefix(1);
}

/// A plain decimal number, without sign or exponent.
std::optional<double> take_number(std::string_view& rest) {
  const auto length = std::min(rest.find_first_not_of("0123456789."), rest.size());
  double value = 0;
  const auto [end, error] =
      std::from_chars(rest.data(), rest.data() + length, value, std::chars_format::fixed);
  if (length == 0 || error != std::errc{} || end != rest.data() + length || value > 1e6) return std::nullopt;
  rest.remove_prefix(length);
  return value;
}

std::optional<Span> take_unit(std::string_view& rest) {
  for (const Unit& unit : kUnits) {
    if (!rest.starts_with(unit.word)) continue;
    rest.remove_prefix(unit.word.size());
    return unit.length;
  }
  return std::nullopt;
}

std::optional<Span> sum_of_parts(std::string_view rest) {
  Span total{0};
  Span last_unit = Span::max();
  skip_spaces(rest);
  if (rest.empty()) return std::nullopt;
  while (!rest.empty()) {
    const auto number = take_number(rest);
    skip_spaces(rest);
    const auto unit = take_unit(rest);
    if (!number || !unit || *unit >= last_unit) return std::nullopt;
    last_unit = *unit;
    total += std::chrono::round<Span>(*number * std::chrono::duration<double, std::milli>(*unit));
    skip_spaces(rest);
  }
  return total;
}

}  // namespace

quantity::Result<Span> read_duration(std::string_view text) {
  const auto total = sum_of_parts(text);
  if (!total) {
    return quantity::invalid(
        fmt::format("'{}' is not a length of time: write it like 20m, 2h or 1h30m", text));
  }
  if (*total > kLongest) return quantity::invalid(fmt::format("'{}' is longer than a year", text));
  return *total;
}

}  // namespace setwell::core
