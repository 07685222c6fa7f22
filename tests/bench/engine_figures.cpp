#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <functional>
#include <limits>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "daemon/core/coat_run.hpp"
#include "daemon/ledger/inbox.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// What the engine costs by itself, as one JSON object on one line; figures.py puts it beside the whole.
///
/// - a week of readings 10 s apart through the ten clocks of one coat, each with three bounds (and the two
/// that
///   serve touch tests), on one core; the same readings through a plain left-rectangle loop of one rate for
///   scale
/// - what a reading costs on the coat's second day and on its seventh
/// - commits of the inbox, each on disk before the next, as MQTT messages are kept
namespace setwell::tests {

namespace {

using core::AirHistory;
using core::CoatRun;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::seconds;

constexpr int kRepeats = 15;
constexpr int kCommits = 500;

/// Of this program's own time on a core: what else the machine does meanwhile is not counted.
double milliseconds_of(const std::function<void()>& work) {
  const auto begin = std::clock();
  work();
  return static_cast<double>(std::clock() - begin) * 1000 / CLOCKS_PER_SEC;
}

double median_of(const std::function<double()>& measured) {
  std::vector<double> all;
  for (int i = 0; i < kRepeats; ++i)
    all.push_back(measured());
  std::nth_element(all.begin(), all.begin() + kRepeats / 2, all.end());
  return all[kRepeats / 2];
}

/// A workshop at 14 °C give or take 3 K over the day, read with a sensor's last digit.
AirHistory week_of_readings() {
  return room(kMonday, days(7), seconds(10), [](double at) {
    const double true_c = 14 + 3 * std::sin(at * 2 * 3.14159265358979 / 24) + 0.2 * std::sin(at * 37);
    return std::round(true_c * 10) / 10;
  });
}

void carry(CoatRun& run, const AirHistory& air, Instant until) {
  (void)run.advance(only(air), until, std::numeric_limits<int>::max());
}

double week_ms(const core::CoatCase& coat, const AirHistory& air) {
  return median_of([&] {
    auto run = run_of(coat);
    return milliseconds_of([&] { carry(run, air, kMonday + days(7)); });
  });
}

double day_ms(const core::CoatCase& coat, const AirHistory& air, int day) {
  auto before = run_of(coat);
  carry(before, air, kMonday + days(day - 1));
  return median_of([&] {
    auto run = before;
    return milliseconds_of([&] { carry(run, air, kMonday + days(day)); });
  });
}

/// One clock without bounds, lag or errors: what a script of an afternoon would do with the same readings.
double left_rectangle_ms(const AirHistory& air) {
  double progress = 0;
  const auto& points = air.temperature();
  const double took = median_of([&] {
    return milliseconds_of([&] {
      for (std::size_t i = 1; i < points.size(); ++i) {
        const double dt = quantity::Hours(points[i].at - points[i - 1].at).count();
        const double x = 1.0 / (points[i - 1].value + 273.15) - 1.0 / 293.15;
        progress += dt / 6.0 * std::exp(-44.0 / 8.314462618e-3 * x);
      }
    });
  });
  // Keeps the loop: its result decides something that is always true.
  return progress > 0 ? took : std::numeric_limits<double>::quiet_NaN();
}

std::optional<double> commits_per_second(const std::filesystem::path& folder) {
  const auto inbox = ledger::Inbox::open(folder / "inbox.db", {});
  if (!inbox) return std::nullopt;
  decode::RawMessage message;
  message.topic = "shop/bench/air";
  message.payload = R"({"t":18.4,"rh":61.0,"at":"2031-03-03T00:00:00Z"})";
  message.payload_size = message.payload.size();
  const auto begin = std::chrono::steady_clock::now();
  for (int i = 0; i < kCommits; ++i) {
    message.received = kMonday + seconds(10 * i);
    (*inbox)->keep(message);
  }
  return kCommits / quantity::Seconds(std::chrono::steady_clock::now() - begin).count();
}

}  // namespace

}  // namespace setwell::tests

int main(int count, char** words) {
  using namespace setwell::tests;
  if (count != 2) {
    std::fputs("setwell_engine_figures FOLDER: the inbox is committed to FOLDER, which must exist\n", stderr);
    return 2;
  }
  const auto coat = coat_of(three_row_epoxy(), kMonday);
  auto shared = coat;
  shared.clocks = setwell::core::clocks_of(*coat.material, coat.coat.made.load, coat.strictness);
  const auto air = week_of_readings();
  const auto commits = commits_per_second(words[1]);
  if (!commits) {
    std::fputs("no inbox can be made in that folder\n", stderr);
    return 1;
  }
  fmt::print(
      "{{\"week_of_10_s_readings_ms\":{:.2f},\"left_rectangle_ms\":{:.2f},\"second_day_ms\":{:.2f},"
      "\"seventh_day_ms\":{:.2f},\"clocks\":{},\"readings\":{},\"commits_per_second\":{:.0f}}}\n",
      week_ms(shared, air), left_rectangle_ms(air), day_ms(shared, air, 2), day_ms(shared, air, 7),
      shared.clocks->size(), air.temperature().size(), *commits);
  return 0;
}
