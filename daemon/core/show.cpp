#include "daemon/core/show.hpp"

#include <array>
#include <chrono>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

namespace setwell::core {
namespace {

using quantity::Instant;
using quantity::LocalTime;
using quantity::Span;
using Day = std::chrono::local_days;

constexpr std::array<std::string_view, 7> kWeekdays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
constexpr std::array<std::string_view, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                   "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

/// A decimal without "-0.0".
std::string one_decimal(double value) {
  const double rounded = std::round(value * 10) / 10;
  return fmt::format("{:.1f}", rounded == 0 ? 0.0 : rounded);
}

Instant to_minute(Instant at, Minute minute) {
  using std::chrono::minutes;
  return minute == Minute::past ? Instant(std::chrono::floor<minutes>(at))
                                : Instant(std::chrono::ceil<minutes>(at));
}

Day day_of(LocalTime local) {
  return std::chrono::floor<std::chrono::days>(local);
}

std::string clock_text(LocalTime local, ClockStyle style) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(local - day_of(local)).count();
  const auto hour = minutes / 60;
  if (style == ClockStyle::h24) return fmt::format("{:02}:{:02}", hour, minutes % 60);
  return fmt::format("{}:{:02} {}", (hour + 11) % 12 + 1, minutes % 60, hour < 12 ? "am" : "pm");
}

std::string day_text(Day day, Day today) {
  const auto ahead = (day - today).count();
  if (ahead == 0) return "today";
  if (ahead == 1) return "tomorrow";
  if (ahead == -1) return "yesterday";
  const std::chrono::year_month_day date(day);
  const std::string text =
      fmt::format("{} {} {}", kWeekdays.at(std::chrono::weekday(day).c_encoding()),
                  static_cast<unsigned>(date.day()), kMonths.at(static_cast<unsigned>(date.month()) - 1));
  const auto this_year = std::chrono::year_month_day(today).year();
  return date.year() == this_year ? text : fmt::format("{} {}", text, static_cast<int>(date.year()));
}

std::string positive_span(Span span) {
  using namespace std::chrono;
  if (span < seconds(60)) return fmt::format("{} s", floor<seconds>(span).count());
  const auto whole = round<minutes>(span).count();
  if (whole < 60) return fmt::format("{} min", whole);
  if (whole < 24 * 60) {
    return whole % 60 == 0 ? fmt::format("{} h", whole / 60)
                           : fmt::format("{} h {} min", whole / 60, whole % 60);
  }
  const auto whole_hours = round<hours>(span).count();
  return whole_hours % 24 == 0 ? fmt::format("{} d", whole_hours / 24)
                               : fmt::format("{} d {} h", whole_hours / 24, whole_hours % 24);
}

}  // namespace

std::string show(quantity::Celsius temperature, const Display& display) {
  if (display.units == Units::fahrenheit) return one_decimal(temperature.fahrenheit()) + " °F";
  return one_decimal(temperature.degrees()) + " °C";
}

std::string show(quantity::CelsiusDelta difference, const Display& display) {
  if (display.units == Units::fahrenheit) return one_decimal(difference.kelvin() * 1.8) + " °F";
  return one_decimal(difference.kelvin()) + " °C";
}

std::string show(quantity::RelativeHumidity humidity) {
  return fmt::format("{:.0f} %", humidity.in_percent());
}

std::string show(quantity::Grams mass) {
  return one_decimal(mass.value()) + " g";
}

std::string show(Span span) {
  return span < Span(0) ? "-" + positive_span(-span) : positive_span(span);
}

std::string clock_time(Instant at, const Display& display, Minute minute) {
  return clock_text(display.zone.to_local(to_minute(at, minute)), display.clock);
}

std::string moment(Instant at, Instant now, const Display& display, Minute minute) {
  const LocalTime local = display.zone.to_local(to_minute(at, minute));
  return day_text(day_of(local), day_of(display.zone.to_local(now))) + " " + clock_text(local, display.clock);
}

std::string stretch(std::optional<Instant> from, std::optional<Instant> until, Instant now,
                    const Display& display) {
  if (!from && !until) return "";
  if (!until) return "from " + moment(*from, now, display, Minute::next);
  if (!from) return "until " + moment(*until, now, display);
  const Day first = day_of(display.zone.to_local(to_minute(*from, Minute::next)));
  const Day last = day_of(display.zone.to_local(to_minute(*until, Minute::past)));
  const std::string end = first == last ? clock_time(*until, display) : moment(*until, now, display);
  return moment(*from, now, display, Minute::next) + " to " + end;
}

}  // namespace setwell::core
