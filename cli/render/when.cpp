#include "cli/render/when.hpp"

#include <cmath>

namespace setwell::cli {

using quantity::Instant;

Reading::Reading(const api::DisplayWish& wish, std::optional<Instant> now, Instant clock_now)
    : display_{wish.temperature == "F" ? core::Units::fahrenheit : core::Units::celsius,
               wish.clock == "12h" ? core::ClockStyle::h12 : core::ClockStyle::h24,
               {}},
      now_(now.value_or(clock_now)) {}

core::Display Reading::display_at(const std::string& rfc3339) const {
  auto display = display_;
  const auto civil = quantity::parse_civil(rfc3339);
  if (civil && civil->offset) display.zone = quantity::TimeZone("local", *civil->offset, {});
  return display;
}

std::string Reading::moment(const std::string& rfc3339, core::Minute minute) const {
  const auto at = quantity::parse_rfc3339(rfc3339);
  return at ? core::moment(*at, now_, display_at(rfc3339), minute) : rfc3339;
}

std::string Reading::stretch(const std::optional<std::string>& from,
                             const std::optional<std::string>& until) const {
  const auto read = [](const std::optional<std::string>& text) {
    return text ? quantity::parse_rfc3339(*text) : std::nullopt;
  };
  return core::stretch(read(from), read(until), now_, display_at(from ? *from : until.value_or("")));
}

std::string Reading::hour(const std::string& rfc3339) const {
  const auto at = quantity::parse_rfc3339(rfc3339);
  if (!at) return "?";
  const auto shown = core::clock_time(*at, display_at(rfc3339));
  auto text = shown.substr(0, shown.find(':'));
  if (const auto half = shown.find(' '); half != std::string::npos) text += shown.substr(half + 1);
  return text;
}

std::string Reading::temperature(double celsius) const {
  const auto value = quantity::Celsius::from(celsius);
  return value ? core::show(*value, display_) : "?";
}

std::string Reading::difference(double kelvin) const {
  if (!std::isfinite(kelvin)) return "?";
  return core::show(quantity::CelsiusDelta(kelvin), display_);
}

std::string Reading::seconds(double span) const {
  return core::show(std::chrono::round<quantity::Span>(quantity::Seconds(span)));
}

}  // namespace setwell::cli
