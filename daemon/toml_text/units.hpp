#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/relative_humidity.hpp"

/// Figures with units, as people write them in sheets and settings: `4 h`, `4-6 h`, `30 min to 4 h`,
/// `at least 4 h`, `73 F`, `at most 70 %`. A figure without a unit is never read. Decimals take a point,
/// whatever the machine's language.
namespace setwell::toml_text {

struct Wrong {
  std::string what;   ///< what is wrong with the text
  std::string right;  ///< what would be right
};

/// A value, or what was wrong with its text.
template <typename T>
struct Read {
  std::optional<T> value;
  Wrong wrong;
};

enum class Bound { exact, range, at_least, at_most };

/// One or two figures. Both are alike but for a range, where low <= high.
template <typename T>
struct Bounded {
  Bound bound = Bound::exact;
  T low;
  T high;
};

/// Spans of time, above zero: `s`, `min`, `h`, `d`.
[[nodiscard]] Read<quantity::Hours> hours(std::string_view text);
[[nodiscard]] Read<Bounded<quantity::Hours>> bounded_hours(std::string_view text);
/// Like `hours`, and 0 is allowed.
[[nodiscard]] Read<quantity::Hours> hours_or_none(std::string_view text);

/// Temperatures: `C`, `F` (also with the degree sign).
[[nodiscard]] Read<quantity::Celsius> celsius(std::string_view text);
[[nodiscard]] Read<Bounded<quantity::Celsius>> bounded_celsius(std::string_view text);
/// Differences of temperature: `K` (a difference of 1 C is 1 K; `C` and `F` are refused, they would be
/// guesses).
[[nodiscard]] Read<quantity::CelsiusDelta> kelvin(std::string_view text);

/// Relative humidity, 0 to 100 %.
[[nodiscard]] Read<quantity::RelativeHumidity> humidity(std::string_view text);
[[nodiscard]] Read<Bounded<quantity::RelativeHumidity>> bounded_humidity(std::string_view text);
/// A share: `3 %` is 0.03. 0 to 100 %.
[[nodiscard]] Read<double> share(std::string_view text);

/// Points of relative humidity, either sign: an error or an offset. -100 to 100 %.
[[nodiscard]] Read<double> percent_points(std::string_view text);

/// Film thickness: `um`, `mm`, `mil` (a thousandth of an inch).
[[nodiscard]] Read<quantity::Micrometres> film(std::string_view text);
/// `g`, `kg`, `oz` (28.35 g).
[[nodiscard]] Read<quantity::Grams> mass(std::string_view text);
/// `g/cm3`, `kg/l`, `g/ml`, which are the same figure.
[[nodiscard]] Read<quantity::GramsPerCubicCentimetre> density(std::string_view text);
/// `cm2`, `m2`, `in2`.
[[nodiscard]] Read<quantity::SquareCentimetres> area(std::string_view text);

}  // namespace setwell::toml_text
