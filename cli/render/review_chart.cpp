#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "cli/render/review_page.hpp"

namespace setwell::cli {

using quantity::Instant;

namespace {

Instant at(const std::string& text) {
  return quantity::parse_rfc3339(text).value_or(Instant{});
}

double degrees(double celsius, bool fahrenheit) {
  return fahrenheit ? celsius * 1.8 + 32 : celsius;
}

/// Splits at silences.
template <typename Member>
ChartLine line_of(const api::ReviewAnswer& answer, std::string name, Ink ink, Member member,
                  bool fahrenheit) {
  ChartLine line{std::move(name), ink, {{}}};
  for (const auto& point : answer.course) {
    const auto& value = point.*member;
    if (value) {
      line.runs.back().push_back({at(point.at), degrees(*value, fahrenheit)});
    } else if (!line.runs.back().empty()) {
      line.runs.emplace_back();
    }
  }
  return line;
}

ChartBand surface_band(const api::ReviewAnswer& answer, bool fahrenheit) {
  ChartBand band{Ink::surface, {{}}};
  for (const auto& point : answer.course) {
    if (point.surface_low_c && point.surface_high_c) {
      band.runs.back().push_back({at(point.at), degrees(*point.surface_low_c, fahrenheit),
                                  degrees(*point.surface_high_c, fahrenheit)});
    } else if (!band.runs.back().empty()) {
      band.runs.emplace_back();
    }
  }
  return band;
}

/// Bounds of the coat itself, each value once; the strictest four are enough.
std::vector<ChartLimit> limits_of(const api::ReviewAnswer& answer, std::string_view unit, bool fahrenheit) {
  std::vector<ChartLimit> limits;
  std::set<std::pair<double, bool>> seen;
  for (const auto& bound : answer.bounds) {
    if (bound.unit != unit || bound.coat != answer.coat || !seen.emplace(bound.bound, bound.limit).second)
      continue;
    const double value = unit == "degC" ? degrees(bound.bound, fahrenheit) : bound.bound;
    const auto name = fmt::format("{} {:.3g}", bound.limit ? "limit" : "advised", value);
    const auto to = std::max(at(bound.to), at(bound.from) + std::chrono::hours(1));
    limits.push_back({name, bound.limit ? Ink::limit : Ink::advised, value, at(bound.from), to});
  }
  return limits;
}

std::vector<ChartShade> silences(const api::ReviewAnswer& answer) {
  std::vector<ChartShade> shades;
  Instant before = at(answer.from);
  for (const auto& point : answer.course) {
    if (!point.air_c) shades.push_back({"no readings", Ink::silence, before, at(point.at)});
    before = at(point.at);
  }
  return shades;
}

std::chrono::minutes offset_of(const std::string& text) {
  const auto civil = quantity::parse_civil(text);
  return civil && civil->offset ? *civil->offset : std::chrono::minutes(0);
}

}  // namespace

Chart review_chart(const api::ReviewAnswer& answer) {
  const bool fahrenheit = answer.display.temperature == "F";
  Chart chart;
  chart.title = fmt::format("Air, surface and dew point about coat {} of {}", answer.coat, answer.piece);
  chart.description = answer.summary;
  chart.from = at(answer.from);
  chart.to = std::max(at(answer.to), chart.from + std::chrono::hours(1));
  chart.offset = offset_of(answer.from);
  chart.hours_12 = answer.display.clock == "12h";
  ChartPanel warmth;
  warmth.title = fahrenheit ? "Temperature, °F" : "Temperature, °C";
  warmth.height = 150;
  warmth.bands = {surface_band(answer, fahrenheit)};
  warmth.lines = {line_of(answer, "air", Ink::air, &api::ReviewPoint::air_c, fahrenheit),
                  line_of(answer, "surface", Ink::surface, &api::ReviewPoint::surface_c, fahrenheit),
                  line_of(answer, "dew point", Ink::dew, &api::ReviewPoint::dew_point_c, fahrenheit)};
  warmth.limits = limits_of(answer, "degC", fahrenheit);
  ChartPanel damp;
  damp.title = "Relative humidity, %";
  damp.height = 70;
  damp.lines = {line_of(answer, "humidity", Ink::humidity, &api::ReviewPoint::humidity_pct, false)};
  damp.limits = limits_of(answer, "%", false);
  chart.panels = {std::move(warmth), std::move(damp)};
  for (const auto& lane : answer.lanes)
    chart.lanes.push_back({lane.name, at(lane.maybe_from), at(lane.from), at(lane.to), at(lane.maybe_to)});
  chart.shades = silences(answer);
  for (std::size_t i = 0; i < answer.events.size(); ++i)
    chart.marks.push_back({at(answer.events[i].at), std::to_string(i + 1)});
  return chart;
}

}  // namespace setwell::cli
