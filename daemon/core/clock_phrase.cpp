#include "daemon/core/clock_phrase.hpp"

#include <charconv>

#include <fmt/format.h>

namespace setwell::core {
namespace {

std::optional<int> take_digits(std::string_view& rest, std::size_t least, std::size_t most) {
  std::size_t count = 0;
  while (count < rest.size() && count < most && rest[count] >= '0' && rest[count] <= '9')
    ++count;
  if (count < least) return std::nullopt;
  int value = 0;
  std::from_chars(rest.data(), rest.data() + count, value);
  rest.remove_prefix(count);
  return value;
}

/// The hour on a 24 h clock; nothing when no clock shows it.
std::optional<int> hour_of_day(int hour, std::string_view half) {
  if (half.empty()) return hour <= 23 ? std::optional(hour) : std::nullopt;
  if (hour < 1 || hour > 12) return std::nullopt;
  return hour % 12 + (half == "pm" ? 12 : 0);
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  while (text.starts_with(' '))
    text.remove_prefix(1);
  while (text.ends_with(' '))
    text.remove_suffix(1);
  return text;
}

ClockPhrase read_clock(std::string_view text) {
  std::string_view half;
  if (text.ends_with("am") || text.ends_with("pm")) {
    half = text.substr(text.size() - 2);
    text = trimmed(text.substr(0, text.size() - 2));
  }
  const auto hour = take_digits(text, 1, 2);
  if (!hour) return {};
  int minute = 0;
  int second = 0;
  const bool colon = text.starts_with(':');
  if (!colon && (half.empty() || !text.empty())) return {};
  if (colon) {
    text.remove_prefix(1);
    const auto digits = take_digits(text, 2, 2);
    if (!digits) return {};
    minute = *digits;
  }
  if (text.starts_with(':')) {
    text.remove_prefix(1);
    const auto digits = take_digits(text, 2, 2);
    if (!digits) return {};
    second = *digits;
  }
  if (!text.empty()) return {};
  const auto shown = hour_of_day(*hour, half);
  if (!shown || minute > 59 || second > 59) return {true, std::nullopt};
  return {true, std::chrono::hours(*shown) + std::chrono::minutes(minute) + std::chrono::seconds(second)};
}

std::string clock_text(quantity::Span of_day) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(of_day).count();
  return fmt::format("{:02}:{:02}", minutes / 60, minutes % 60);
}

}  // namespace setwell::core
