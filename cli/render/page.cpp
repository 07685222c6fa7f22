#include "cli/render/page.hpp"

#include <algorithm>

namespace setwell::cli {

namespace {

/// Takes the next word with the spaces before it off `rest`.
std::string_view take_word(std::string_view& rest) {
  const auto begin = std::min(rest.find_first_not_of(' '), rest.size());
  const auto end = std::min(rest.find(' ', begin), rest.size());
  const auto word = rest.substr(0, end);
  rest.remove_prefix(end);
  return word;
}

std::string_view without_lead(std::string_view word) {
  word.remove_prefix(std::min(word.find_first_not_of(' '), word.size()));
  return word;
}

void wrap_line(std::string_view rest, int width, std::vector<std::string>& lines) {
  std::string line;
  while (!rest.empty()) {
    const auto word = take_word(rest);
    if (!line.empty() && columns(line) + columns(word) > width) {
      lines.push_back(std::move(line));
      line = without_lead(word);
    } else {
      line += word;
    }
  }
  lines.push_back(std::move(line));
}

}  // namespace

int columns(std::string_view text) {
  int count = 0;
  bool in_escape = false;
  for (const char c : text) {
    if (c == '\x1b') in_escape = true;
    // Continuation bytes of UTF-8 take no column of their own.
    if (!in_escape && (static_cast<unsigned char>(c) & 0xC0U) != 0x80U) ++count;
    if (c == 'm') in_escape = false;
  }
  return count;
}

std::vector<std::string> wrapped(std::string_view text, int width) {
  std::vector<std::string> lines;
  while (true) {
    const auto end = std::min(text.find('\n'), text.size());
    wrap_line(text.substr(0, end), width, lines);
    if (end == text.size()) return lines;
    text.remove_prefix(end + 1);
  }
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
  const bool beside = columns(label) < width || label.empty();
  if (!beside) line(label);
  std::string lead = padded(beside ? label : std::string_view{}, width);
  for (const auto& part : wrapped(text, kPageWidth - width)) {
    auto whole = lead + part;
    whole.erase(whole.find_last_not_of(' ') + 1);
    line(whole);
    lead.assign(static_cast<std::size_t>(width), ' ');
  }
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
