#include "daemon/toml_text/units.hpp"

#include <charconv>
#include <cmath>
#include <span>

#include <fmt/format.h>

#include "daemon/toml_text/words.hpp"

namespace setwell::toml_text {
namespace {

/// value in our unit = (figure - zero) * factor.
struct Unit {
  std::string_view name;
  double factor = 1.0;
  double zero = 0.0;
};

/// A kind of figure: its units and a figure as people would write it.
struct Kind {
  std::string_view of_what;
  std::span<const Unit> units;
  std::string_view example;
};

constexpr Unit kTimeUnits[] = {{"s", 1.0 / 3600.0}, {"min", 1.0 / 60.0}, {"h"}, {"d", 24.0}};
constexpr Unit kTemperatureUnits[] = {{"C"}, {"F", 1.0 / 1.8, 32.0}, {"°C"}, {"°F", 1.0 / 1.8, 32.0}};
constexpr Unit kDifferenceUnits[] = {{"K"}};
constexpr Unit kPercentUnits[] = {{"%"}};
constexpr Unit kFilmUnits[] = {{"um"}, {"mil", 25.4}, {"mm", 1000.0}};
constexpr Unit kMassUnits[] = {{"g"}, {"kg", 1000.0}, {"oz", 28.349523125}};
constexpr Unit kDensityUnits[] = {{"g/cm3"}, {"kg/l"}, {"g/ml"}};
constexpr Unit kAreaUnits[] = {{"cm2"}, {"m2", 10000.0}, {"in2", 6.4516}};

constexpr Kind kTime{"time", kTimeUnits, "\"4 h\""};
constexpr Kind kTimes{"time", kTimeUnits, "\"4 h\", \"4-6 h\" or \"at least 4 h\""};
constexpr Kind kTemperature{"temperature", kTemperatureUnits, "\"23 C\""};
constexpr Kind kTemperatures{"temperature", kTemperatureUnits,
                             "\"18-25 C\", \"at least 18 C\" or \"at most 25 C\""};
constexpr Kind kDifference{"temperature difference", kDifferenceUnits, "\"3 K\""};
constexpr Kind kHumidity{"humidity", kPercentUnits, "\"50 %\""};
constexpr Kind kHumidities{"humidity", kPercentUnits, "\"40-60 %\", \"at least 40 %\" or \"at most 70 %\""};
constexpr Kind kShare{"share", kPercentUnits, "\"3 %\""};
constexpr Kind kFilm{"film thickness", kFilmUnits, "\"100 um\""};
constexpr Kind kMass{"mass", kMassUnits, "\"100 g\""};
constexpr Kind kDensity{"density", kDensityUnits, "\"1.1 g/cm3\""};
constexpr Kind kArea{"area", kAreaUnits, "\"450 cm2\""};

/// Beyond this a span no longer fits what counts milliseconds on top of a date, and no work is that slow.
constexpr double kLongestHours = 20.0 * 365.25 * 24.0;
constexpr std::string_view kNoTime = "not above zero, or beyond 20 years";
constexpr std::string_view kNoTemperature = "no possible temperature";
constexpr std::string_view kNoHumidity = "no possible humidity (0 to 100 %)";
constexpr std::string_view kEnDash = "\u2013";

void skip_spaces(std::string_view& text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t'))
    text.remove_prefix(1);
}

bool skip(std::string_view& text, std::string_view word) {
  if (!text.starts_with(word)) return false;
  text.remove_prefix(word.size());
  return true;
}

std::optional<double> take_number(std::string_view& text) {
  double value = 0.0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || !std::isfinite(value)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

std::string_view take_unit(std::string_view& text) {
  std::size_t length = 0;
  while (length < text.size() && text[length] != ' ' && text[length] != '-' &&
         !text.substr(length).starts_with(kEnDash)) {
    ++length;
  }
  const std::string_view unit = text.substr(0, length);
  text.remove_prefix(length);
  return unit;
}

struct Figure {
  double value = 0.0;
  std::string_view unit;  ///< empty when none is written
};

/// What a text says, before its units are looked at.
struct Written {
  Bound bound = Bound::exact;
  Figure low;
  Figure high;
};

std::optional<Figure> take_figure(std::string_view& text) {
  skip_spaces(text);
  const auto value = take_number(text);
  if (!value) return std::nullopt;
  skip_spaces(text);
  if (text.starts_with("to ")) return Figure{*value, {}};
  const std::string_view unit = take_unit(text);
  skip_spaces(text);
  return Figure{*value, unit};
}

bool take_separator(std::string_view& text) {
  return skip(text, "-") || skip(text, kEnDash) || skip(text, "to ");
}

Bound take_bound(std::string_view& text) {
  skip_spaces(text);
  if (skip(text, "at least ")) return Bound::at_least;
  if (skip(text, "at most ")) return Bound::at_most;
  return Bound::exact;
}

std::optional<Written> written(std::string_view text) {
  Written result;
  result.bound = take_bound(text);
  const auto low = take_figure(text);
  if (!low) return std::nullopt;
  result.low = result.high = *low;
  if (text.empty()) return result;
  if (result.bound != Bound::exact || !take_separator(text)) return std::nullopt;
  const auto high = take_figure(text);
  if (!high || !text.empty()) return std::nullopt;
  result.bound = Bound::range;
  result.high = *high;
  if (result.low.unit.empty()) result.low.unit = high->unit;
  return result;
}

std::string units_of(const Kind& kind) {
  std::vector<std::string_view> names;
  for (const Unit& unit : kind.units) {
    if (!unit.name.starts_with("°")) names.push_back(unit.name);
  }
  return listed(names);
}

Wrong wrong(const Kind& kind, std::string what) {
  return {std::move(what), fmt::format("{} in {}, like {}", kind.of_what, units_of(kind), kind.example)};
}

const Unit* unit_named(const Kind& kind, std::string_view name) {
  for (const Unit& unit : kind.units) {
    if (unit.name == name) return &unit;
  }
  return nullptr;
}

/// One figure in our unit, or what is wrong with its unit.
Read<double> in_our_unit(const Kind& kind, Figure figure, std::string_view text) {
  if (figure.unit.empty()) return {{}, wrong(kind, fmt::format("\"{}\" has no unit", text))};
  const Unit* unit = unit_named(kind, figure.unit);
  if (!unit) return {{}, wrong(kind, fmt::format("\"{}\" is no unit of {}", figure.unit, kind.of_what))};
  return {(figure.value - unit->zero) * unit->factor, {}};
}

Read<Bounded<double>> bounded(const Kind& kind, std::string_view text) {
  const auto parts = written(text);
  if (!parts) return {{}, wrong(kind, fmt::format("\"{}\" is not understood", text))};
  auto low = in_our_unit(kind, parts->low, text);
  if (!low.value) return {{}, std::move(low.wrong)};
  auto high = in_our_unit(kind, parts->high, text);
  if (!high.value) return {{}, std::move(high.wrong)};
  if (*low.value > *high.value) {
    return {{}, wrong(kind, fmt::format("\"{}\" runs from high to low", text))};
  }
  return {Bounded<double>{parts->bound, *low.value, *high.value}, {}};
}

/// Both ends through the door of their type.
template <typename T, typename Door>
Read<Bounded<T>> through(const Kind& kind, std::string_view text, std::string_view impossible, Door door) {
  auto read = bounded(kind, text);
  if (!read.value) return {{}, std::move(read.wrong)};
  const std::optional<T> low = door(read.value->low);
  const std::optional<T> high = door(read.value->high);
  if (!low || !high) return {{}, wrong(kind, fmt::format("\"{}\" is {}", text, impossible))};
  return {Bounded<T>{read.value->bound, *low, *high}, {}};
}

template <typename T>
Read<T> single(const Kind& kind, std::string_view text, Read<Bounded<T>> read) {
  if (!read.value) return {{}, std::move(read.wrong)};
  if (read.value->bound != Bound::exact) {
    return {{}, wrong(kind, fmt::format("\"{}\" must be one figure", text))};
  }
  return {read.value->low, {}};
}

template <typename T>
Read<T> positive(const Kind& kind, std::string_view text) {
  return single(kind, text, through<T>(kind, text, "not above zero", [](double x) { return T::from(x); }));
}

std::optional<quantity::Hours> above_zero(double hours) {
  if (!(hours > 0.0 && hours <= kLongestHours)) return std::nullopt;
  return quantity::Hours(hours);
}

std::optional<quantity::Hours> not_negative(double hours) {
  if (!(hours >= 0.0 && hours <= kLongestHours)) return std::nullopt;
  return quantity::Hours(hours);
}

std::optional<quantity::CelsiusDelta> finite_delta(double kelvin) {
  if (!(std::abs(kelvin) < 1000.0)) return std::nullopt;
  return quantity::CelsiusDelta(kelvin);
}

std::optional<quantity::RelativeHumidity> up_to_100(double percent) {
  return percent > 100.0 ? std::nullopt : quantity::RelativeHumidity::from_percent(percent);
}

std::optional<double> as_share(double percent) {
  if (!(percent >= 0.0 && percent <= 100.0)) return std::nullopt;
  return percent / 100.0;
}

std::optional<double> as_points(double percent) {
  return percent >= -100.0 && percent <= 100.0 ? std::optional(percent) : std::nullopt;
}

}  // namespace

Read<Bounded<quantity::Hours>> bounded_hours(std::string_view text) {
  return through<quantity::Hours>(kTimes, text, kNoTime, above_zero);
}

Read<quantity::Hours> hours(std::string_view text) {
  return single(kTime, text, through<quantity::Hours>(kTime, text, kNoTime, above_zero));
}

Read<quantity::Hours> hours_or_none(std::string_view text) {
  return single(kTime, text,
                through<quantity::Hours>(kTime, text, "negative or beyond 20 years", not_negative));
}

Read<Bounded<quantity::Celsius>> bounded_celsius(std::string_view text) {
  return through<quantity::Celsius>(kTemperatures, text, kNoTemperature, quantity::Celsius::from);
}

Read<quantity::Celsius> celsius(std::string_view text) {
  return single(kTemperature, text,
                through<quantity::Celsius>(kTemperature, text, kNoTemperature, quantity::Celsius::from));
}

Read<quantity::CelsiusDelta> kelvin(std::string_view text) {
  return single(kDifference, text,
                through<quantity::CelsiusDelta>(kDifference, text, "no possible difference", finite_delta));
}

Read<Bounded<quantity::RelativeHumidity>> bounded_humidity(std::string_view text) {
  return through<quantity::RelativeHumidity>(kHumidities, text, kNoHumidity, up_to_100);
}

Read<quantity::RelativeHumidity> humidity(std::string_view text) {
  return single(kHumidity, text,
                through<quantity::RelativeHumidity>(kHumidity, text, kNoHumidity, up_to_100));
}

Read<double> share(std::string_view text) {
  return single(kShare, text, through<double>(kShare, text, "outside 0 to 100 %", as_share));
}

Read<double> percent_points(std::string_view text) {
  return single(kHumidity, text, through<double>(kHumidity, text, "outside -100 to 100 %", as_points));
}

Read<quantity::Micrometres> film(std::string_view text) {
  return positive<quantity::Micrometres>(kFilm, text);
}

Read<quantity::Grams> mass(std::string_view text) {
  return positive<quantity::Grams>(kMass, text);
}

Read<quantity::GramsPerCubicCentimetre> density(std::string_view text) {
  return positive<quantity::GramsPerCubicCentimetre>(kDensity, text);
}

Read<quantity::SquareCentimetres> area(std::string_view text) {
  return positive<quantity::SquareCentimetres>(kArea, text);
}

}  // namespace setwell::toml_text
