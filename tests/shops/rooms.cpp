#include "tests/shops/rooms.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>

#include "sensors/decode/formats/room_csv.hpp"
#include "sensors/room/generator.hpp"

namespace setwell::shops {
namespace {

namespace fs = std::filesystem;
using quantity::Instant;

constexpr std::chrono::days kGenerated{40};

std::vector<fs::path> recordings(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  for (const auto& item : fs::directory_iterator(folder, error)) {
    const auto name = item.path().filename().string();
    const bool outdoor = name.find("-outdoor-") != std::string::npos;
    if (name.starts_with("room-") && name.ends_with(".csv") && !outdoor) files.push_back(item.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

double minutes(quantity::Span span) {
  return quantity::Minutes(span).count();
}

bool is_air(const decode::RoomRow& row) {
  return std::isfinite(row.temperature_c) && row.temperature_c > -40 && row.temperature_c < 60 &&
         row.humidity_pct > 0 && row.humidity_pct <= 100;
}

/// The recording as real air: rows in order of time, glitches left out.
Room room_of(std::string name, const std::vector<decode::RoomRow>& rows) {
  Room room{std::move(name), rows.front().at, {}};
  for (const auto& row : rows) {
    const double minute = minutes(row.at - room.begin);
    const bool later = room.air.empty() || minute > room.air.back().minute;
    if (later && is_air(row)) room.air.push_back({minute, row.temperature_c, row.humidity_pct});
  }
  return room;
}

}  // namespace

std::vector<Room> recorded_rooms(const fs::path& folder) {
  std::vector<Room> rooms;
  for (const auto& file : recordings(folder)) {
    std::ifstream in(file, std::ios::binary);
    const std::string text(std::istreambuf_iterator<char>(in), {});
    const auto rows = decode::parse_room_csv(text);
    if (rows && !rows->empty()) rooms.push_back(room_of(file.stem().string(), *rows));
  }
  return rooms;
}

std::vector<Room> generated_rooms(room::Random& random) {
  std::vector<Room> rooms;
  for (const auto season : {room::Season::winter, room::Season::summer}) {
    for (const auto heating : {room::Heating::none, room::Heating::steady, room::Heating::night_set_back}) {
      room::RoomSpec spec;
      spec.seed = random.next();
      spec.season = season;
      spec.heating = heating;
      spec.begin = Instant(std::chrono::sys_days(std::chrono::year(2031) / 2 / 3));
      spec.end = spec.begin + kGenerated;
      Room made{"generated-" + std::to_string(rooms.size() + 1), spec.begin, {}};
      for (const auto& row : room::generate(spec)) {
        made.air.push_back(
            {minutes(row.at - spec.begin), row.temperature.degrees(), row.humidity.in_percent()});
      }
      rooms.push_back(std::move(made));
    }
  }
  return rooms;
}

Room stretch_of(const Room& room, double from, double length) {
  Room part{room.name, room.begin + quantity::Span(std::llround(from * 60000)), {}};
  TrueAir first = true_air_at(room.air, from);
  part.air.push_back({0, first.celsius, first.percent});
  for (const TrueAir& each : room.air) {
    if (each.minute > from && each.minute < from + length)
      part.air.push_back({each.minute - from, each.celsius, each.percent});
  }
  const TrueAir last = true_air_at(room.air, from + length);
  part.air.push_back({length, last.celsius, last.percent});
  return part;
}

}  // namespace setwell::shops
