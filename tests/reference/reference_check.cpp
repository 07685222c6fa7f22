#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <set>
#include <string>
#include <vector>

#include <boost/json/array.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

#include "tests/reference/runs.hpp"

/// Runs every reference vector of a folder through the code. The folder: the first argument, else the
/// variable SETWELL_REFERENCE, else ../shared/reference. JSON files name their kind and hold `vectors`; CSV
/// files have the kind as their name, inputs and expected values as columns. The last line printed is one
/// object with the counts; exit 0 all passed, 1 some failed, 77 no folder or nothing in it.
namespace {

namespace fs = std::filesystem;
namespace json = boost::json;
using namespace setwell::reference;

constexpr int kSkipped = 77;

struct Tally {
  int vectors = 0;
  json::array failed;
  void count(std::string_view id, bool passed) {
    ++vectors;
    if (!passed) failed.emplace_back(id);
  }
};

bool passes(const Kind* kind, const json::object& vector) {
  if (kind == nullptr) return false;
  try {
    json::object inputs = vector.at("inputs").as_object();
    inputs["_expected"] = vector.at("expected");
    const json::object got = kind->run(inputs);
    if (all_match(got, vector, kind->tolerance_of)) return true;
    std::cerr << json::serialize(vector.at("id")) << ": got " << json::serialize(got) << '\n';
    return false;
  } catch (const std::exception& fault) {
    std::cerr << json::serialize(vector.at("id")) << ": " << fault.what() << '\n';
    return false;
  }
}

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void run_json(const fs::path& file, Tally& tally) {
  json::error_code fault;
  const json::value document = json::parse(text_of(file), fault);
  const json::object* whole = document.if_object();
  const json::value* name = whole != nullptr ? whole->if_contains("kind") : nullptr;
  const json::value* vectors = whole != nullptr ? whole->if_contains("vectors") : nullptr;
  if (name == nullptr || !name->is_string() || vectors == nullptr || !vectors->is_array()) {
    tally.count(file.filename().string(), false);
    return;
  }
  const Kind* kind = kind_named(std::string_view(name->as_string()));
  for (const json::value& vector : vectors->as_array()) {
    const json::object* v = vector.if_object();
    const json::value* id = v != nullptr ? v->if_contains("id") : nullptr;
    const bool whole_vector =
        id != nullptr && id->is_string() && v->contains("inputs") && v->contains("expected");
    tally.count(id != nullptr && id->is_string() ? std::string_view(id->as_string()) : "without id",
                whole_vector && passes(kind, *v));
  }
}

std::vector<std::string> cells_of(std::string line) {
  if (line.ends_with('\r')) line.pop_back();
  std::vector<std::string> cells{""};
  for (char c : line) {
    if (c == ',') {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

/// An empty cell does not exist: null.
json::value cell_value(const std::string& cell) {
  double value = 0;
  const auto [end, fault] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
  if (fault != std::errc() || end != cell.data() + cell.size()) return nullptr;
  return value;
}

/// The columns that are inputs; all others but `id` and `info_…` are expected.
bool is_input(const std::string& column) {
  static const std::set<std::string> kInputs{"t_C",   "rh_pct",    "t_ref_C", "Ea_kJ_mol",
                                             "air_C", "surface_C", "ref_C",   "ref_rh_pct"};
  return kInputs.contains(column);
}

json::object vector_of(const std::vector<std::string>& columns, const std::vector<std::string>& cells) {
  json::object inputs;
  json::object expected;
  for (std::size_t i = 1; i < columns.size() && i < cells.size(); ++i) {
    if (columns[i].starts_with("info_")) continue;
    (is_input(columns[i]) ? inputs : expected)[columns[i]] = cell_value(cells[i]);
  }
  return {{"id", cells.front()}, {"inputs", std::move(inputs)}, {"expected", std::move(expected)}};
}

void run_csv(const fs::path& file, Tally& tally) {
  const Kind* kind = kind_named(file.stem().string());
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  const std::vector<std::string> columns = cells_of(line);
  while (std::getline(in, line)) {
    if (line.empty() || line == "\r") continue;
    const std::vector<std::string> cells = cells_of(line);
    tally.count(cells.front(), cells.size() == columns.size() && passes(kind, vector_of(columns, cells)));
  }
}

fs::path folder_of(int argc, char** argv) {
  if (argc > 1) return argv[1];
  const char* set = std::getenv("SETWELL_REFERENCE");
  return set != nullptr && *set != '\0' ? set : "../shared/reference";
}

int run(const fs::path& folder) {
  Tally tally;
  std::vector<fs::path> files;
  if (fs::is_directory(folder)) {
    for (const auto& entry : fs::directory_iterator(folder))
      files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  for (const fs::path& file : files) {
    if (file.extension() == ".json") run_json(file, tally);
    if (file.extension() == ".csv") run_csv(file, tally);
  }
  if (tally.vectors == 0) {
    std::cout << "skipped: no reference vectors in " << folder.string() << '\n';
    return kSkipped;
  }
  const int passed = tally.vectors - static_cast<int>(tally.failed.size());
  const bool all = tally.failed.empty();
  std::cout << "{\"vectors\":" << tally.vectors << ",\"passed\":" << passed
            << ",\"failed\":" << json::serialize(tally.failed) << "}\n";
  return all ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(folder_of(argc, argv));
  } catch (const std::exception& fault) {
    std::cerr << fault.what() << '\n';
    return 1;
  }
}
