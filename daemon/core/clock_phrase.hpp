#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "sensors/quantity/instant.hpp"

/// Clock times as typed: `14:30`, `7:05`, `14:30:15`, `2:30pm`, `9 am`.
namespace setwell::core {

/// What a text has to do with clock times: it is one, it looks like one that cannot be, or neither.
struct ClockPhrase {
  bool looks_like_one = false;
  std::optional<quantity::Span> of_day;
};

/// Reads a clock time; the whole text, in small letters, must be one.
[[nodiscard]] ClockPhrase read_clock(std::string_view text);

/// `07:05`, from a time of day of less than 24 h.
[[nodiscard]] std::string clock_text(quantity::Span of_day);

/// A text without the spaces around it.
[[nodiscard]] std::string_view trimmed(std::string_view text);

}  // namespace setwell::core
