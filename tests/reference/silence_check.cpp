#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "daemon/core/envelope.hpp"

/// How wide the envelope of a silence has to be: every stretch of every recorded room is held out in turn as
/// a silence of 2 to 24 hours, and the room as it was is held against what the rest of its record says. The
/// folder: the first argument, else SETWELL_ROOMS, else ../shared/climate. The last line printed is one
/// object; exit 0 when the truth leaves the envelope in at most 0.5 % of the silences, 1 when more often, 77
/// without rooms.
namespace {

namespace fs = std::filesystem;
using setwell::core::AirPoint;
using setwell::core::EnvelopeRule;
using setwell::core::Silence;
using setwell::quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;

constexpr int kSkipped = 77;
constexpr double kMostOutside = 0.005;
constexpr int kHoursSilent[] = {2, 3, 4, 6, 8, 12, 16, 20, 24};

struct Series {
  std::vector<AirPoint> temperature, humidity;
};

Instant moment_of(std::string text) {
  if (!text.ends_with('Z')) text += 'Z';
  const auto at = setwell::quantity::parse_rfc3339(text);
  if (!at) throw std::runtime_error("no time: " + text);
  return *at;
}

double number_of(const std::string& text) {
  double value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end == text.data()) throw std::runtime_error("no number: " + text);
  return value;
}

void put(std::vector<AirPoint>& points, const AirPoint& point) {
  if (points.empty() || points.back().at < point.at) points.push_back(point);
}

Series read_room(const fs::path& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  Series series;
  while (std::getline(in, line)) {
    if (line.ends_with('\r')) line.pop_back();
    const auto first = line.find(','), second = line.find(',', first + 1);
    if (second == std::string::npos) continue;
    const Instant at = moment_of(line.substr(0, first));
    put(series.temperature, {at, number_of(line.substr(first + 1, second - first - 1)), 0});
    put(series.humidity, {at, number_of(line.substr(second + 1)), 0});
  }
  return series;
}

/// What one held-out silence asked for.
struct Held {
  double needed = 0;   ///< how much wider than the bare range, in units of the rule's widening
  double bare = 0;     ///< mean width of the bare range
  double unit = 0;     ///< mean widening, either way, of a rule of one
  bool young = false;  ///< less than seven days recorded before it
};

using Points = std::span<const AirPoint>;

std::size_t first_at(Points points, Instant at) {
  return static_cast<std::size_t>(std::lower_bound(points.begin(), points.end(), at,
                                                   [](const AirPoint& p, Instant t) { return p.at < t; }) -
                                  points.begin());
}

EnvelopeRule with_widening(EnvelopeRule rule, double per_root_hour) {
  rule.per_root_hour = per_root_hour;
  rule.least = -1e9;
  rule.most = 1e9;
  return rule;
}

/// The silence between points `before` and `after`.
Held held_out(Points points, std::size_t before, std::size_t after, const EnvelopeRule& rule) {
  const auto silence_of = [&](double per_root_hour) {
    return Silence(points.first(before + 1), &points[after], points[after].at,
                   with_widening(rule, per_root_hour));
  };
  const Silence silence = silence_of(0), widened = silence_of(1);
  Held held;
  held.young = points[before].at - points.front().at < hours(24 * 7);
  Instant hour = points[before].at;
  std::size_t next = before + 1;
  int stretches = 0;
  while (hour < points[after].at) {
    const Instant end = std::min<Instant>(std::chrono::floor<hours>(hour) + hours(1), points[after].at);
    const auto known = silence.over(hour, end);
    const double unit = known.least - widened.over(hour, end).least;
    for (; next < after && points[next].at < end; ++next) {
      const double beyond = std::max(known.least - points[next].value, points[next].value - known.most);
      held.needed = std::max(held.needed, beyond / unit);
    }
    held.bare += known.most - known.least;
    held.unit += unit;
    ++stretches;
    hour = end;
  }
  held.bare /= stretches;
  held.unit /= stretches;
  return held;
}

/// Whether the record has no hole of its own between two points.
bool whole(Points points, std::size_t before, std::size_t after, setwell::quantity::Span most) {
  for (std::size_t i = before; i < after; ++i) {
    if (points[i + 1].at - points[i].at > most) return false;
  }
  return true;
}

setwell::quantity::Span usual_interval(Points points) {
  std::vector<setwell::quantity::Span> all;
  for (std::size_t i = 0; i + 1 < points.size(); ++i)
    all.push_back(points[i + 1].at - points[i].at);
  std::nth_element(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
  return all[all.size() / 2];
}

/// Silences of every length from every full hour on.
std::vector<Held> all_held_out(Points points, const EnvelopeRule& rule) {
  std::vector<Held> all;
  const auto most = std::max<setwell::quantity::Span>(minutes(30), usual_interval(points) * 3);
  for (Instant from = points.front().at + hours(2); from + hours(2) < points.back().at; from += hours(1)) {
    const std::size_t next = first_at(points, from);
    for (const int length : kHoursSilent) {
      const std::size_t after = first_at(points, from + hours(length));
      if (after >= points.size() || next == 0 || !whole(points, next - 1, after, most)) break;
      all.push_back(held_out(points, next - 1, after, rule));
    }
  }
  return all;
}

double share_outside(const std::vector<Held>& held, double widening) {
  const auto outside =
      std::count_if(held.begin(), held.end(), [&](const Held& h) { return h.needed > widening; });
  return held.empty() ? 0 : static_cast<double>(outside) / static_cast<double>(held.size());
}

/// The least widening, in steps of a twentieth, that leaves the truth outside in at most 0.5 % of the
/// silences.
double narrowest(const std::vector<Held>& held) {
  std::vector<double> needed;
  for (const Held& h : held)
    needed.push_back(h.needed);
  std::sort(needed.begin(), needed.end());
  const auto allowed = static_cast<std::size_t>(kMostOutside * static_cast<double>(needed.size()));
  return std::ceil(std::max(0.0, needed[needed.size() - 1 - allowed]) * 20.0 - 1e-9) / 20.0;
}

/// From the bottom of the envelope to its top, at that widening.
double mean_width(const std::vector<Held>& held, double widening) {
  double sum = 0;
  for (const Held& h : held)
    sum += h.bare + 2 * widening * h.unit;
  return sum / static_cast<double>(held.size());
}

struct Quantity {
  const char* name;
  EnvelopeRule rule;
  std::vector<AirPoint> Series::*points;
  std::vector<Held> held{};
};

std::string told(const Quantity& quantity) {
  std::vector<Held> young;
  std::copy_if(quantity.held.begin(), quantity.held.end(), std::back_inserter(young),
               [](const Held& h) { return h.young; });
  const double set = quantity.rule.per_root_hour;
  return fmt::format(
      R"("{}":{{"silences":{},"per_root_hour":{},"outside":{:.5f},"outside_first_week":{:.5f},"narrowest":{:.2f},"mean_width":{:.3f},"mean_width_of_narrowest":{:.3f}}})",
      quantity.name, quantity.held.size(), set, share_outside(quantity.held, set), share_outside(young, set),
      narrowest(quantity.held), mean_width(quantity.held, set),
      mean_width(quantity.held, narrowest(quantity.held)));
}

int run(const fs::path& folder) {
  std::vector<fs::path> rooms;
  if (fs::is_directory(folder)) {
    for (const auto& entry : fs::directory_iterator(folder)) {
      const auto name = entry.path().filename().string();
      const bool room = name.starts_with("room-") && name.find("-outdoor-") == std::string::npos;
      if (room && name.ends_with(".csv")) rooms.push_back(entry.path());
    }
  }
  if (rooms.empty()) {
    std::cout << "skipped: no rooms in " << folder.string() << '\n';
    return kSkipped;
  }
  std::sort(rooms.begin(), rooms.end());
  Quantity quantities[] = {{"temperature_c", setwell::core::kTemperatureEnvelope, &Series::temperature},
                           {"humidity_pct", setwell::core::kHumidityEnvelope, &Series::humidity}};
  for (const auto& room : rooms) {
    const Series series = read_room(room);
    std::cout << room.stem().string();
    for (Quantity& quantity : quantities) {
      const auto held = all_held_out(series.*quantity.points, quantity.rule);
      std::cout << fmt::format("  {}: {} silences, {:.3f} % outside, width {:.2f}", quantity.name,
                               held.size(), 100 * share_outside(held, quantity.rule.per_root_hour),
                               mean_width(held, quantity.rule.per_root_hour));
      quantity.held.insert(quantity.held.end(), held.begin(), held.end());
    }
    std::cout << std::endl;
  }
  bool kept = true;
  for (const Quantity& quantity : quantities)
    kept = kept && share_outside(quantity.held, quantity.rule.per_root_hour) <= kMostOutside;
  std::cout << fmt::format("{{\"rooms\":{},{},{}}}\n", rooms.size(), told(quantities[0]),
                           told(quantities[1]));
  return kept ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const char* set = std::getenv("SETWELL_ROOMS");
    return run(argc > 1 ? argv[1] : set != nullptr && *set != '\0' ? set : "../shared/climate");
  } catch (const std::exception& fault) {
    std::cerr << fault.what() << '\n';
    return 1;
  }
}
