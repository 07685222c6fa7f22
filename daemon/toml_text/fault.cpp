#include "daemon/toml_text/fault.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace setwell::toml_text {
namespace {

std::vector<Fault> in_file_order(std::vector<Fault> faults) {
  std::stable_sort(faults.begin(), faults.end(), [](const Fault& a, const Fault& b) {
    return std::tie(a.line, a.column) < std::tie(b.line, b.column);
  });
  return faults;
}

/// A file may hold anything; a message stays one line.
std::string one_line(std::string text) {
  std::replace_if(
      text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7f; }, '?');
  return text;
}

}  // namespace

std::string describe(const Fault& fault) {
  const std::string key = fault.key.empty() ? "" : fault.key + ": ";
  return one_line(
      fmt::format("{}:{}: {}{}; right: {}", fault.file, fault.line, key, fault.what, fault.right));
}

void Report::fault(Place at, std::string key, std::string what, std::string right) {
  faults_.push_back({file_, at.line, at.column, std::move(key), std::move(what), std::move(right)});
}

void Report::warn(Place at, std::string key, std::string what, std::string right) {
  warnings_.push_back({file_, at.line, at.column, std::move(key), std::move(what), std::move(right)});
}

void Report::fault(std::string key, std::string what, std::string right) {
  const Place at = place_of(key);
  fault(at, std::move(key), std::move(what), std::move(right));
}

void Report::warn(std::string key, std::string what, std::string right) {
  const Place at = place_of(key);
  warn(at, std::move(key), std::move(what), std::move(right));
}

void Report::missing(Place at, std::string key, std::string right) {
  if (!nothing_is_missing_) fault(at, std::move(key), "missing", std::move(right));
}

Place Report::place_of(std::string_view key) const {
  while (!key.empty()) {
    if (const auto found = places_.find(key); found != places_.end()) return found->second;
    const auto cut = key.find_last_of(".[");
    key = cut == std::string_view::npos ? std::string_view{} : key.substr(0, cut);
  }
  return {};
}

std::vector<Fault> Report::take_faults() {
  return in_file_order(std::exchange(faults_, {}));
}

std::vector<Fault> Report::take_warnings() {
  return in_file_order(std::exchange(warnings_, {}));
}

}  // namespace setwell::toml_text
