// The forecast over every recorded room of a folder: a new one every hour from what was told by then, held
// against what came. What is usual in rooms is fitted anew for each room from the others, so that no room has
// been seen by what foretells it (`--built-in` takes what the daemon has instead).
//
// setwell_forecast [FOLDER] [--built-in] [--last-days N] [--write-prior FILE] [--json]
// The folder: the argument, else SETWELL_ROOMS, else ../shared/climate. Leaves with 77 where it is absent or
// holds no room. With --json the last line is the object; else a table is printed. Leaves with 1 where the
// forecast is not better than the plain way chosen beforehand, or bands do not hold (`faults`).

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "tests/reference/forecast_backtest.hpp"
#include "tests/reference/forecast_fit.hpp"
#include "tests/reference/forecast_report.hpp"

namespace {

using namespace setwell::reference;

struct Wishes {
  std::filesystem::path folder;
  std::string write_prior;
  int last_days = 0;
  bool built_in = false;
  bool json = false;
};

Wishes wishes_of(int count, char** words) {
  Wishes wishes;
  const char* folder = std::getenv("SETWELL_ROOMS");
  wishes.folder = folder != nullptr ? folder : "../shared/climate";
  for (int i = 1; i < count; ++i) {
    const std::string word = words[i];
    if (word == "--json")
      wishes.json = true;
    else if (word == "--built-in")
      wishes.built_in = true;
    else if (word == "--last-days" && i + 1 < count)
      wishes.last_days = std::atoi(words[++i]);
    else if (word == "--write-prior" && i + 1 < count)
      wishes.write_prior = words[++i];
    else
      wishes.folder = word;
  }
  return wishes;
}

std::vector<RoomScores> run(const Wishes& wishes, const std::vector<RecordedRoom>& rooms) {
  std::vector<RoomCases> cases;
  if (!wishes.built_in) {
    for (const auto& room : rooms)
      cases.push_back(cases_of(room));
  }
  std::vector<RoomScores> scores;
  for (std::size_t i = 0; i < rooms.size(); ++i) {
    const auto prior = wishes.built_in ? setwell::core::built_in_forecast_prior() : fitted_prior(cases, i);
    scores.push_back(backtest(rooms[i], prior, wishes.last_days));
  }
  return scores;
}

int check(const Wishes& wishes) {
  std::error_code none;
  if (!std::filesystem::is_directory(wishes.folder, none)) return 77;
  const auto rooms = recorded_rooms(wishes.folder);
  if (rooms.empty()) return 77;
  if (!wishes.write_prior.empty()) {
    std::vector<RoomCases> cases;
    for (const auto& room : rooms)
      cases.push_back(cases_of(room));
    std::ofstream(wishes.write_prior) << prior_text(fitted_prior(cases, rooms.size()), rooms);
    return 0;
  }
  const auto scores = run(wishes, rooms);
  fmt::print("{}", table_of(scores));
  const auto faults = faults_of(scores, wishes.last_days > 0 ? Hold::mean_only : Hold::every_room);
  for (const auto& fault : faults)
    fmt::print("not so: {}\n", fault);
  if (wishes.json) fmt::print("{}\n", json_of(scores));
  return faults.empty() ? 0 : 1;
}

}  // namespace

int main(int count, char** words) {
  try {
    return check(wishes_of(count, words));
  } catch (const std::exception& thrown) {
    fmt::print("{}\n", thrown.what());
    return 1;
  }
}
