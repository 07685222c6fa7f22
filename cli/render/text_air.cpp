#include <fmt/format.h>

#include "cli/render/drawing.hpp"
#include "cli/render/head.hpp"
#include "cli/render/piece_text.hpp"
#include "cli/render/text.hpp"

/// The air, the sensors that tell it, and its records.
namespace setwell::cli {
namespace {

constexpr int kDetail = 14;

std::string margin_words(const api::AirZone& zone, const Reading& reading) {
  if (!zone.now.air_c || !zone.now.dew_point_c) return {};
  auto text = "dew margin of the air " + reading.difference(*zone.now.air_c - *zone.now.dew_point_c);
  if (zone.dew_margin_error_k) text += " ± " + reading.difference(*zone.dew_margin_error_k);
  return text;
}

void write_air_zone(Page& page, const api::AirZone& zone, const Reading& reading) {
  write_zone(page, zone.now, reading);
  if (const auto margin = margin_words(zone, reading); !margin.empty()) page.paragraph(margin, kDetail);
  const auto drawing = draw_air(zone, reading);
  if (!drawing.empty()) page.line();
  for (const auto& line : drawing)
    page.line(line);
  if (!zone.ahead.empty()) {
    page.line();
    page.paragraph(zone.ahead);
  }
}

std::string value_words(const api::SensorNow& sensor, const Reading& reading) {
  if (!sensor.value) return "no good reading yet";
  if (sensor.quantity.ends_with("temperature")) return reading.temperature(*sensor.value);
  if (sensor.quantity == "relative-humidity") return fmt::format("{:.0f} %", *sensor.value);
  return fmt::format("{:g}", *sensor.value);
}

std::string counted(const std::vector<api::ReasonCount>& counts) {
  std::string text;
  for (const auto& count : counts)
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", count.count, count.reason);
  return text;
}

std::string heard_words(const api::SensorNow& sensor, const Reading& reading) {
  const auto at = [&](const std::optional<std::string>& when) {
    return when ? reading.moment(*when) : std::string("never");
  };
  return fmt::format("message {}, good {}, changed {}", at(sensor.last_message), at(sensor.last_good),
                     at(sensor.last_change));
}

void write_sensor(Page& page, const api::SensorNow& sensor, const Reading& reading) {
  std::string state = value_words(sensor, reading);
  if (sensor.silent) state += ", silent";
  if (sensor.stuck) state += ", stuck";
  page.line(page.bold(sensor.zone) + "  " + spoken(sensor.quantity) + "  " + state);
  page.pair("  topic", sensor.topic, kDetail);
  page.pair("  last", heard_words(sensor, reading), kDetail);
  auto taken = fmt::format("{} readings", sensor.readings);
  if (sensor.qos) taken += fmt::format(", QoS {}", *sensor.qos);
  page.pair("  taken", taken, kDetail);
  if (!sensor.refused.empty()) page.pair("  refused", counted(sensor.refused), kDetail);
  if (!sensor.advice.empty()) page.pair("  do", sensor.advice, kDetail);
}

std::string cell(const std::optional<double>& value, int decimals) {
  return value ? fmt::format("{:.{}f}", *value, decimals) : "-";
}

}  // namespace

std::string to_text(const api::AirAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  write_head(page, answer.rehearsal);
  if (answer.zones.empty()) page.line("No zone is set up; add [[zone]] tables to the settings.");
  bool first = true;
  for (const auto& zone : answer.zones) {
    if (!first) page.line();
    first = false;
    write_air_zone(page, zone, reading);
  }
  return page.text();
}

std::string to_text(const api::SensorsAnswer& answer, const Look& look) {
  Page page(look.colour);
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  if (answer.sensors.empty()) page.line("No channel is set up; add [[channel]] tables to the settings.");
  for (const auto& sensor : answer.sensors)
    write_sensor(page, sensor, reading);
  if (!answer.unmapped.empty()) write_title(page, "Topics that belong to no channel");
  for (const auto& topic : answer.unmapped)
    page.pair("  " + topic.reason, fmt::format("{} messages", topic.count), 40);
  return page.text();
}

std::string to_text(const api::HistoryAnswer& answer, const Look& look) {
  if (answer.rows.empty()) return "No trusted reading of " + answer.zone + " in that span.\n";
  const Reading reading(answer.display, std::nullopt, look.clock_now);
  std::vector<std::vector<std::string>> rows;
  for (const auto& row : answer.rows) {
    rows.push_back({reading.moment(row.time),
                    row.temperature_c ? reading.temperature(*row.temperature_c) : "-",
                    cell(row.humidity_pct, 0) + (row.humidity_pct ? " %" : "")});
  }
  return table({answer.zone, "air", "humidity"}, rows);
}

std::string history_csv(const api::HistoryAnswer& answer) {
  std::string text;
  for (const auto& row : answer.rows) {
    text += row.time + ',' + (row.temperature_c ? cell(row.temperature_c, 2) : "") + ',' +
            (row.humidity_pct ? cell(row.humidity_pct, 1) : "") + '\n';
  }
  return text;
}

}  // namespace setwell::cli
