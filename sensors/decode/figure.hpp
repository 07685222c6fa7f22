#pragma once

#include <optional>
#include <string_view>
#include <variant>

#include "sensors/decode/channel.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::decode {

/// Reads a decimal number: optional sign, digits with at most one decimal mark, optional exponent, nothing
/// else. The same in every locale. Nothing for hexadecimal, grouped digits, words, and what a double cannot
/// hold.
[[nodiscard]] std::optional<double> parse_number(std::string_view text, Decimal decimal = Decimal::point);

/// A number with the unit that was written behind it, if any.
struct Figure {
  double number = 0.0;
  std::optional<Unit> suffix;
};

/// Reads a number with an optional unit (`21.5 °C`, `48%RH`). Words that say "no value" (`nan`,
/// `unavailable`,
/// `--`, nothing at all …) are `no-value`; everything else is `not-a-number`.
[[nodiscard]] std::variant<Figure, quantity::Refusal> parse_figure(std::string_view text, Decimal decimal);

/// The unit that a word or sign stands for, in any case of letters (`C`, `°F`, `fahrenheit`, `%RH`, `ratio`,
/// `/`).
[[nodiscard]] std::optional<Unit> unit_by_word(std::string_view word);

/// 1 for a word that says the thing runs (or the door is open), 0 for its opposite; the channel's own words
/// first.
[[nodiscard]] std::variant<Figure, quantity::Refusal> parse_switch(std::string_view text,
                                                                   const ChannelSpec& spec);

}  // namespace setwell::decode
