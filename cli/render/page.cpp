#include "cli/render/page.hpp"

#include <algorithm>

namespace setwell::cli {

int columns(std::string_view text) {
  // Continuation bytes of UTF-8 take no column of their own.
  return static_cast<int>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string padded(std::string_view text, int width) {
  std::string out(text);
  out.append(static_cast<std::size_t>(std::max(0, width - columns(text))), ' ');
  return out;
}

void Page::line(std::string_view text) {
  text_ += text;
  text_ += '\n';
}

void Page::pair(std::string_view label, std::string_view text, int width) {
  line(padded(label, width) + std::string(text));
}

std::string Page::bold(std::string_view text) const {
  if (colour_ == Colour::off) return std::string(text);
  return "\x1b[1m" + std::string(text) + "\x1b[0m";
}

std::string table(const std::vector<std::string>& head, const std::vector<std::vector<std::string>>& rows) {
  if (rows.empty()) return {};
  std::vector<int> widths;
  for (const auto& title : head)
    widths.push_back(columns(title));
  for (const auto& row : rows) {
    for (std::size_t i = 0; i < row.size() && i < widths.size(); ++i)
      widths[i] = std::max(widths[i], columns(row[i]));
  }
  const auto put = [&](const std::vector<std::string>& row) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const bool last = i + 1 == row.size() || i + 1 == widths.size();
      line += last ? row[i] : padded(row[i], widths[i] + 2);
    }
    while (line.ends_with(' '))
      line.pop_back();
    return line + '\n';
  };
  std::string text = put(head);
  for (const auto& row : rows)
    text += put(row);
  return text;
}

}  // namespace setwell::cli
