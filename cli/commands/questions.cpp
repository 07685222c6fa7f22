#include "cli/commands/questions.hpp"

#include <charconv>
#include <istream>
#include <ostream>
#include <string>

#include <fmt/format.h>

namespace setwell::cli {
namespace {

constexpr int kTries = 3;

/// A line without what surrounds it; nothing at the end of input.
std::optional<std::string> line_of(std::istream& in) {
  std::string line;
  if (!std::getline(in, line)) return std::nullopt;
  const auto from = line.find_first_not_of(" \t\r");
  if (from == std::string::npos) return std::string();
  return line.substr(from, line.find_last_not_of(" \t\r") - from + 1);
}

}  // namespace

std::optional<std::size_t> choose(std::istream& in, std::ostream& out, std::string_view question,
                                  const std::vector<std::string>& choices) {
  out << question << '\n';
  for (std::size_t i = 0; i < choices.size(); ++i)
    out << fmt::format("  {}  {}\n", i + 1, choices[i]);
  for (int tries = 0; tries < kTries; ++tries) {
    out << fmt::format("1 to {} [1]: ", choices.size()) << std::flush;
    const auto line = line_of(in);
    if (!line) return std::nullopt;
    if (line->empty()) return 0;
    std::size_t number = 0;
    const auto* end = line->data() + line->size();
    const auto read = std::from_chars(line->data(), end, number);
    if (read.ec == std::errc() && read.ptr == end && number >= 1 && number <= choices.size())
      return number - 1;
  }
  return std::nullopt;
}

bool confirm(std::istream& in, std::ostream& out, std::string_view question) {
  out << question << " [y/N]: " << std::flush;
  const auto line = line_of(in);
  return line && (*line == "y" || *line == "Y" || *line == "yes");
}

}  // namespace setwell::cli
