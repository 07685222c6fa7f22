#include "cli/render/air_page.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/html_page.hpp"
#include "cli/render/when.hpp"

namespace setwell::cli {

using quantity::Instant;

namespace {

constexpr std::chrono::hours kHour{1};

Instant at(const std::string& text) {
  return quantity::parse_rfc3339(text).value_or(Instant{});
}

/// From the wire's units to those people read.
struct Unit {
  double factor = 1, offset = 0;
  [[nodiscard]] double operator()(double value) const { return value * factor + offset; }
};

using StepBand = std::optional<api::BandNow> (*)(const api::ForecastStepNow&);

/// What one panel shows of each hour and step.
struct Shown {
  Unit unit;
  std::optional<double> api::AirHour::*past;
  StepBand ahead;
};

/// Hours stand at their middle; a silent one is a gap.
ChartLine past_line(const api::AirZone& zone, const Shown& shown, std::string name, Ink ink) {
  ChartLine line{std::move(name), ink, {{}}};
  for (const auto& hour : zone.last_day) {
    if (const auto& value = hour.*(shown.past)) {
      line.runs.back().push_back({at(hour.from) + kHour / 2, shown.unit(*value)});
    } else if (!line.runs.back().empty()) {
      line.runs.emplace_back();
    }
  }
  return line;
}

void add_ahead(const api::AirZone& zone, const Shown& shown, ChartPanel& panel) {
  if (!zone.forecast) return;
  ChartLine middle{"likeliest", Ink::likely, {{}}};
  ChartBand most{Ink::faint, {{}}}, half{Ink::faint, {{}}};
  for (const auto& step : zone.forecast->steps) {
    const auto band = shown.ahead(step);
    if (!band) return;
    middle.runs.back().push_back({at(step.at), shown.unit(band->median)});
    most.runs.back().push_back({at(step.at), shown.unit(band->p5), shown.unit(band->p95)});
    half.runs.back().push_back({at(step.at), shown.unit(band->p25), shown.unit(band->p75)});
  }
  panel.bands = {std::move(most), std::move(half)};
  panel.lines.push_back(std::move(middle));
}

ChartPanel panel_of(const api::AirZone& zone, const Shown& shown, std::string title, std::string_view unit,
                    Instant from, Instant to) {
  ChartPanel panel;
  panel.title = std::move(title);
  panel.height = unit == "degC" ? 170 : 80;
  if (unit != "degC") panel.least = 0;
  if (unit == "%") panel.most = 100;
  panel.lines = {past_line(zone, shown, "measured", unit == "degC" ? Ink::air : Ink::humidity)};
  add_ahead(zone, shown, panel);
  for (const auto& limit : zone.limits) {
    if (limit.unit != unit) continue;
    const double value = shown.unit(limit.value);
    panel.limits.push_back({fmt::format("{:.3g}", value), Ink::limit, value, from, to});
  }
  return panel;
}

void add_shades(const api::AirZone& zone, Chart& chart) {
  for (const auto& night : zone.nights)
    chart.shades.push_back({"outside waking hours", Ink::faint, at(night.from), at(night.until)});
  for (const auto& hour : zone.last_day)
    if (hour.silent)
      chart.shades.push_back({"no readings", Ink::silence, at(hour.from), at(hour.from) + kHour});
}

std::string describe(const api::AirZone& zone, const Reading& reading) {
  if (!zone.forecast || zone.forecast->steps.empty()) return "The air of the last day. There is no forecast.";
  const api::ForecastStepNow* coldest = &zone.forecast->steps.front();
  for (const auto& step : zone.forecast->steps)
    if (step.air_c.median < coldest->air_c.median) coldest = &step;
  return fmt::format(
      "The air of the last day and of the next two. Coldest {}: likeliest {}, in nine cases of ten between "
      "{} "
      "and {}.",
      reading.moment(coldest->at), reading.temperature(coldest->air_c.median),
      reading.temperature(coldest->air_c.p5), reading.temperature(coldest->air_c.p95));
}

std::string chart_key(const api::AirZone& zone) {
  std::string key;
  if (zone.forecast) key += " Wide band: nine cases of ten; narrow band: half of them.";
  if (!zone.nights.empty()) key += " Shaded: outside waking hours.";
  return key;
}

std::string limit_line(const api::AirLimit& limit, const Reading& reading) {
  auto text = limit.what + " ";
  if (limit.unit == "degC") text += reading.temperature(limit.value);
  if (limit.unit == "K") text += reading.difference(limit.value);
  if (limit.unit == "%") text += fmt::format("{:.0f} %", limit.value);
  std::string names;
  for (const auto& piece : limit.pieces)
    names += (names.empty() ? ": " : ", ") + piece;
  return text + names;
}

std::string now_words(const api::ZoneNow& now, const Reading& reading) {
  if (!now.air_c) return "Nothing trusted has been heard.";
  auto text = "Now " + reading.temperature(*now.air_c);
  if (now.humidity_pct) text += fmt::format(", {:.0f} %", *now.humidity_pct);
  if (now.dew_point_c)
    text += ", " + reading.difference(*now.air_c - *now.dew_point_c) + " above the dew point";
  return text + (now.trusted ? "." : "; the last that was heard.");
}

std::string zone_part(const api::AirZone& zone, const api::DisplayWish& display, const Reading& reading) {
  std::string out = "<section>\n<h2>" + escaped(zone.now.zone) + "</h2>\n";
  out += paragraph(now_words(zone.now, reading));
  if (const auto chart = air_chart(zone, display)) {
    const auto description = describe(zone, reading);
    out += "<figure tabindex=\"0\" aria-label=\"" + escaped(chart->title) + "\">\n";
    out += svg_of(lay_out(*chart), chart->title, description, "chart-" + zone.now.zone);
    out +=
        "<figcaption class=\"soft\">" + escaped(description + chart_key(zone)) + "</figcaption>\n</figure>\n";
  }
  if (!zone.limits.empty()) out += "<h3>What the coats here ask</h3>\n<ul>\n";
  for (const auto& limit : zone.limits)
    out += "<li>" + escaped(limit_line(limit, reading)) + "</li>\n";
  if (!zone.limits.empty()) out += "</ul>\n";
  if (!zone.ahead.empty()) out += paragraph(zone.ahead, "soft");
  return out + "</section>\n";
}

}  // namespace

std::optional<Chart> air_chart(const api::AirZone& zone, const api::DisplayWish& display) {
  const bool heard = std::any_of(zone.last_day.begin(), zone.last_day.end(),
                                 [](const api::AirHour& hour) { return hour.mean_c.has_value(); });
  if (!heard && !zone.forecast) return std::nullopt;
  const bool fahrenheit = display.temperature == "F";
  const Unit degrees{fahrenheit ? 1.8 : 1.0, fahrenheit ? 32.0 : 0.0};
  const Unit kelvins{fahrenheit ? 1.8 : 1.0, 0};
  const auto& first = zone.last_day.empty() ? zone.forecast->issued : zone.last_day.front().from;
  Chart chart;
  chart.title = "The air of " + zone.now.zone;
  chart.from = at(first);
  chart.to = zone.last_day.empty() ? chart.from + kHour : at(zone.last_day.back().from) + kHour;
  if (zone.forecast && !zone.forecast->steps.empty())
    chart.to = std::max(chart.to, at(zone.forecast->steps.back().at));
  const auto civil = quantity::parse_civil(first);
  if (civil && civil->offset) chart.offset = *civil->offset;
  chart.hours_12 = display.clock == "12h";
  const auto air = [](const api::ForecastStepNow& step) { return std::optional(step.air_c); };
  const auto humidity = [](const api::ForecastStepNow& step) { return step.humidity_pct; };
  const auto margin = [](const api::ForecastStepNow& step) { return step.dew_margin_k; };
  chart.panels = {panel_of(zone, {degrees, &api::AirHour::mean_c, air},
                           fahrenheit ? "Temperature, °F" : "Temperature, °C", "degC", chart.from, chart.to),
                  panel_of(zone, {{}, &api::AirHour::mean_pct, humidity}, "Relative humidity, %", "%",
                           chart.from, chart.to),
                  panel_of(zone, {kelvins, &api::AirHour::dew_margin_k, margin},
                           fahrenheit ? "Above the dew point, °F" : "Above the dew point, °C", "K",
                           chart.from, chart.to)};
  add_shades(zone, chart);
  return chart;
}

std::string air_page(const api::AirAnswer& answer, const Look& look) {
  const Reading reading(answer.display, quantity::parse_rfc3339(answer.time), look.clock_now);
  auto out = page_head("The air, " + reading.moment(answer.time));
  out += "<h1>The air, " + escaped(reading.moment(answer.time)) + "</h1>\n";
  if (answer.rehearsal) out += paragraph(kRehearsal);
  out += "<main>\n";
  for (const auto& zone : answer.zones)
    out += zone_part(zone, answer.display, reading);
  return out + "</main>\n</body>\n</html>\n";
}

}  // namespace setwell::cli
