#include "tests/reference/forecast_rooms.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "daemon/core/forecast_hours.hpp"
#include "sensors/decode/formats/room_csv.hpp"

namespace setwell::reference {

namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

RecordedRoom room_of(const std::filesystem::path& file) {
  const auto rows = decode::parse_room_csv(text_of(file));
  if (!rows) throw std::runtime_error(file.string() + ": " + rows.error().detail);
  std::vector<core::AirPoint> temperature;
  std::vector<core::AirPoint> humidity;
  for (const auto& row : *rows) {
    temperature.push_back({row.at, row.temperature_c, 0.5});
    humidity.push_back({row.at, row.humidity_pct, 5.0});
  }
  const auto in_time = [](const core::AirPoint& a, const core::AirPoint& b) { return a.at < b.at; };
  std::stable_sort(temperature.begin(), temperature.end(), in_time);
  std::stable_sort(humidity.begin(), humidity.end(), in_time);
  RecordedRoom room;
  room.name = file.stem().string();
  if (temperature.empty()) return room;
  room.first = core::hour_at_or_before(temperature.front().at) + 1;
  const auto last = core::hour_at_or_before(temperature.back().at);
  for (auto hour = room.first; hour <= last; ++hour)
    room.hours.push_back(core::hour_value(temperature, humidity, hour));
  return room;
}

}  // namespace

double RecordedRoom::value(core::AirQuantity quantity, core::HourIndex hour) const {
  if (hour < first || hour >= first + static_cast<core::HourIndex>(hours.size())) return std::nan("");
  const auto& found = hours[static_cast<std::size_t>(hour - first)];
  return quantity == core::AirQuantity::temperature ? found.celsius : found.percent;
}

std::vector<RecordedRoom> recorded_rooms(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const auto name = entry.path().filename().string();
    if (name.starts_with("room-") && name.ends_with(".csv") && name.find("-outdoor-") == std::string::npos)
      files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  std::vector<RecordedRoom> rooms;
  for (const auto& file : files)
    rooms.push_back(room_of(file));
  return rooms;
}

}  // namespace setwell::reference
