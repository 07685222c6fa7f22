#include "daemon/runtime/zone_loader.hpp"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "daemon/runtime/tzif.hpp"

namespace setwell::runtime {

namespace {

constexpr std::size_t kLongestName = 64;
constexpr std::size_t kLargestFile = 1 << 20;

bool is_name_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-' ||
         c == '+' || c == '/';
}

/// Dots are no letters of a zone's name, so `..` and hidden files cannot be named at all.
bool is_zone_name(std::string_view name) {
  if (name.empty() || name.size() > kLongestName || name.front() == '/' || name.back() == '/') return false;
  for (const char c : name) {
    if (!is_name_letter(c)) return false;
  }
  return name.find("//") == std::string_view::npos;
}

std::filesystem::path zone_folder() {
  const char* stated = std::getenv("TZDIR");
  return stated != nullptr && *stated != '\0' ? stated : "/usr/share/zoneinfo";
}

std::optional<std::string> read_small_file(const std::filesystem::path& path) {
  std::error_code failed;
  if (!std::filesystem::is_regular_file(path, failed)) return {};
  if (std::filesystem::file_size(path, failed) > kLargestFile || failed) return {};
  std::ifstream file(path, std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  if (file.bad()) return {};
  return bytes;
}

}  // namespace

std::optional<quantity::TimeZone> load_zone(std::string_view name, quantity::Instant from) {
  if (name == "UTC") return quantity::TimeZone();
  if (!is_zone_name(name)) return {};
  const auto bytes = read_small_file(zone_folder() / name);
  if (!bytes) return {};
  return parse_tzif(name, *bytes, from + std::chrono::years(40));
}

}  // namespace setwell::runtime
