// Screens every recorded room as if its readings came one by one, and holds the share that is refused, and
// the share that is not judged, against what a maker can live with. The folder: the first argument, else
// SETWELL_ROOMS, else ../shared/climate. Leaves with 77 where it is absent.

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "sensors/decode/formats/room_csv.hpp"
#include "sensors/screen/screen.hpp"

namespace {

using namespace setwell;
using quantity::DecodedValue;
using quantity::MeasuredQuantity;

// Real rooms hold no sensor faults beyond a few; more refusals would mean that the limits are too tight.
constexpr double kMostRefusedPercent = 0.05;
constexpr double kMostWaitingPercent = 0.5;
/// Enough before the newest value to judge it as the whole past would.
constexpr std::size_t kPast = 60;

std::vector<DecodedValue> series_of(const std::vector<decode::RoomRow>& rows, MeasuredQuantity quantity) {
  std::vector<DecodedValue> series;
  for (const auto& row : rows) {
    DecodedValue value;
    value.value = quantity == MeasuredQuantity::relative_humidity ? row.humidity_pct : row.temperature_c;
    value.number = value.value;
    value.measured = value.received = row.at;
    series.push_back(value);
  }
  return series;
}

double percent(std::size_t part, std::size_t whole) {
  return whole == 0 ? 0.0 : 100.0 * static_cast<double>(part) / static_cast<double>(whole);
}

struct Shares {
  double refused;  ///< in the end
  double unjudged;
  double waiting;  ///< not judged at once, on arrival
};

Shares shares_of(const std::vector<DecodedValue>& series, MeasuredQuantity quantity) {
  const screen::Rules rules{quantity};
  std::size_t refused = 0;
  std::size_t unjudged = 0;
  std::size_t waiting = 0;
  for (const auto& verdict : screen::screen(rules, series)) {
    refused += verdict.refused.has_value();
    unjudged += !verdict.refused && !verdict.judged;
  }
  for (std::size_t at = 0; at < series.size(); ++at) {
    const std::size_t first = at > kPast ? at - kPast : 0;
    waiting += !screen::screen(rules, std::span(series).subspan(first, at - first + 1)).back().judged;
  }
  return {percent(refused, series.size()), percent(unjudged, series.size()), percent(waiting, series.size())};
}

bool check_room(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const auto rows = decode::parse_room_csv(text);
  if (!rows) {
    fmt::print("{}: {}\n", path.filename().string(), rows.error().detail);
    return false;
  }
  bool fine = true;
  for (const auto quantity : {MeasuredQuantity::air_temperature, MeasuredQuantity::relative_humidity}) {
    const auto shares = shares_of(series_of(*rows, quantity), quantity);
    fine = fine && shares.refused <= kMostRefusedPercent && shares.waiting <= kMostWaitingPercent;
    fmt::print(
        "{:<24} {:<18} {:>6} values: refused {:.3f} %, unjudged in the end {:.3f} %, on arrival {:.3f} %\n",
        path.stem().string(), word(quantity), rows->size(), shares.refused, shares.unjudged, shares.waiting);
  }
  return fine;
}

std::filesystem::path folder_of(int argc, char** argv) {
  if (argc > 1) return argv[1];
  const char* set = std::getenv("SETWELL_ROOMS");
  return set != nullptr && *set != '\0' ? set : "../shared/climate";
}

bool is_room(const std::filesystem::path& path) {
  const auto name = path.filename().string();
  return name.starts_with("room-") && name.ends_with(".csv") && name.find("outdoor") == std::string::npos;
}

}  // namespace

int main(int argc, char** argv) {
  const auto folder = folder_of(argc, argv);
  if (!std::filesystem::is_directory(folder)) {
    fmt::print("{} is not there: skipped\n", folder.string());
    return 77;
  }
  std::vector<std::filesystem::path> rooms;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (is_room(entry.path())) rooms.push_back(entry.path());
  }
  std::sort(rooms.begin(), rooms.end());
  bool fine = !rooms.empty();
  for (const auto& room : rooms)
    fine = check_room(room) && fine;
  return fine ? 0 : 1;
}
