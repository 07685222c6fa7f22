#include "sensors/decode/figure.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>
#include <utility>

#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

using quantity::Refusal;
using FigureOrRefusal = std::variant<Figure, Refusal>;

constexpr std::array<std::string_view, 16> kNoValue{
    "",     "nan",         "+nan",    "-nan", "inf", "+inf", "-inf",    "infinity",
    "null", "unavailable", "unknown", "none", "n/a", "--",   "offline", "online"};

struct UnitWord {
  std::string_view word;
  Unit unit;
};

/// What may stand behind a number. Letters as written in the trade: a small `f` could be a programmer's
/// float. The two with an escape are a Latin-1 degree sign; the split keeps the letter out of the escape.
constexpr std::array kSuffixes{UnitWord{"\u00b0C", Unit::deg_c},
                               UnitWord{"\xb0"
                                        "C",
                                        Unit::deg_c},
                               UnitWord{"\u00baC", Unit::deg_c},
                               UnitWord{"\u2103", Unit::deg_c},
                               UnitWord{"C", Unit::deg_c},
                               UnitWord{"degC", Unit::deg_c},
                               UnitWord{"\u00b0F", Unit::deg_f},
                               UnitWord{"\xb0"
                                        "F",
                                        Unit::deg_f},
                               UnitWord{"\u00baF", Unit::deg_f},
                               UnitWord{"\u2109", Unit::deg_f},
                               UnitWord{"F", Unit::deg_f},
                               UnitWord{"degF", Unit::deg_f},
                               UnitWord{"%", Unit::percent},
                               UnitWord{"%RH", Unit::percent},
                               UnitWord{"% RH", Unit::percent}};

/// What a member that states the unit may read besides those.
constexpr std::array kUnitWords{UnitWord{"cel", Unit::deg_c},        UnitWord{"celsius", Unit::deg_c},
                                UnitWord{"centigrade", Unit::deg_c}, UnitWord{"fahrenheit", Unit::deg_f},
                                UnitWord{"percent", Unit::percent},  UnitWord{"RH", Unit::percent},
                                UnitWord{"ratio", Unit::ratio},      UnitWord{"/", Unit::ratio}};

constexpr std::array<std::string_view, 7> kOn{"on", "true", "1", "open", "opened", "running", "yes"};
constexpr std::array<std::string_view, 7> kOff{"off", "false", "0", "closed", "shut", "stopped", "no"};

/// The length of the longest number at the front, in a text whose decimal mark is a point.
std::pair<std::optional<double>, std::size_t> number_at_front(std::string_view text) {
  const bool plus = text.starts_with('+') && !text.starts_with("+-");
  const std::string_view digits = text.substr(plus ? 1 : 0);
  double number = 0.0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (error != std::errc{} || !std::isfinite(number)) return {std::nullopt, 0};
  return {number, static_cast<std::size_t>(end - text.data())};
}

/// A text whose decimal mark is a point, whatever it was; nothing where a point stands in a comma's country.
std::optional<std::string> with_point(std::string_view text, Decimal decimal) {
  std::string out(text);
  if (decimal == Decimal::point) return out;
  if (out.find('.') != std::string::npos) return std::nullopt;
  if (const auto comma = out.find(','); comma != std::string::npos) out[comma] = '.';
  return out;
}

bool is_no_value(std::string_view word) {
  return std::any_of(kNoValue.begin(), kNoValue.end(),
                     [&](std::string_view known) { return same_word(known, word); });
}

template <typename Words>
bool any_of_words(const Words& words, std::string_view word) {
  return std::any_of(words.begin(), words.end(), [&](const auto& known) { return same_word(known, word); });
}

std::optional<Unit> suffix_unit(std::string_view suffix) {
  const auto known = std::find_if(kSuffixes.begin(), kSuffixes.end(),
                                  [&](const UnitWord& entry) { return entry.word == suffix; });
  if (known == kSuffixes.end()) return std::nullopt;
  return known->unit;
}

}  // namespace

std::optional<double> parse_number(std::string_view text, Decimal decimal) {
  const auto pointed = with_point(trimmed(text), decimal);
  if (!pointed || pointed->empty()) return std::nullopt;
  const auto [number, length] = number_at_front(*pointed);
  return length == pointed->size() ? number : std::nullopt;
}

FigureOrRefusal parse_figure(std::string_view text, Decimal decimal) {
  const std::string_view body = trimmed(text);
  if (is_no_value(body)) return Refusal::no_value;
  const auto pointed = with_point(body, decimal);
  if (!pointed) return Refusal::not_a_number;
  const auto [number, length] = number_at_front(*pointed);
  if (!number) return Refusal::not_a_number;
  const std::string_view suffix = trimmed(std::string_view(*pointed).substr(length));
  if (suffix.empty()) return Figure{*number, std::nullopt};
  const auto unit = suffix_unit(suffix);
  if (!unit) return Refusal::not_a_number;
  return Figure{*number, unit};
}

std::optional<Unit> unit_by_word(std::string_view word) {
  const std::string_view body = trimmed(word);
  for (const auto& [known, unit] : kSuffixes) {
    if (same_word(known, body)) return unit;
  }
  for (const auto& [known, unit] : kUnitWords) {
    if (same_word(known, body)) return unit;
  }
  return std::nullopt;
}

FigureOrRefusal parse_switch(std::string_view text, const ChannelSpec& spec) {
  const std::string_view word = trimmed(text);
  if (any_of_words(spec.on_words, word)) return Figure{1.0, std::nullopt};
  if (any_of_words(spec.off_words, word)) return Figure{0.0, std::nullopt};
  if (any_of_words(kOn, word)) return Figure{1.0, std::nullopt};
  if (any_of_words(kOff, word)) return Figure{0.0, std::nullopt};
  if (is_no_value(word)) return Refusal::no_value;
  const auto number = parse_number(word);
  if (number && (*number == 0.0 || *number == 1.0)) return Figure{*number, std::nullopt};
  return Refusal::not_a_number;
}

}  // namespace setwell::decode
