#include "daemon/toml_text/parse.hpp"

#define TOML_EXCEPTIONS 0
#define TOML_ENABLE_FORMATTERS 1
#include <algorithm>
#include <sstream>

#include <toml++/toml.h>

namespace setwell::toml_text {
namespace {

constexpr int kMostBrokenLines = 30;

Place place_of(const toml::source_region& source) {
  return {std::max(1, static_cast<int>(source.begin.line)),
          std::max(1, static_cast<int>(source.begin.column))};
}

template <typename Moment>
std::string written(const Moment& moment) {
  std::ostringstream out;
  out.imbue(std::locale::classic());
  out << moment;
  return out.str();
}

Node node_of(const toml::node& from);

void fill_table(Node& node, const toml::table& from) {
  for (auto&& [key, value] : from) {
    node.members.push_back({std::string(key.str()), place_of(key.source()), node_of(value)});
  }
  std::stable_sort(node.members.begin(), node.members.end(),
                   [](const Member& a, const Member& b) { return a.at < b.at; });
}

void fill_scalar(Node& node, const toml::node& from) {
  if (const auto* text = from.as_string()) {
    node.kind = NodeKind::text;
    node.text = text->get();
  } else if (const auto* whole = from.as_integer()) {
    node.kind = NodeKind::whole;
    node.whole = whole->get();
    node.number = static_cast<double>(node.whole);
  } else if (const auto* number = from.as_floating_point()) {
    node.kind = NodeKind::number;
    node.number = number->get();
  } else if (const auto* truth = from.as_boolean()) {
    node.kind = NodeKind::truth;
    node.truth = truth->get();
  } else {
    node.kind = NodeKind::moment;
    if (const auto* date = from.as_date()) node.text = written(date->get());
    if (const auto* time = from.as_time()) node.text = written(time->get());
    if (const auto* both = from.as_date_time()) node.text = written(both->get());
  }
}

Node node_of(const toml::node& from) {
  Node node;
  node.at = place_of(from.source());
  if (const auto* table = from.as_table()) {
    fill_table(node, *table);
  } else if (const auto* list = from.as_array()) {
    node.kind = NodeKind::list;
    for (const toml::node& item : *list)
      node.items.push_back(node_of(item));
  } else {
    fill_scalar(node, from);
  }
  return node;
}

struct Line {
  std::size_t begin = 0;
  std::size_t end = 0;
};

Line line_at(std::string_view text, int number) {
  std::size_t begin = 0;
  for (int i = 1; i < number; ++i) {
    const auto next = text.find('\n', begin);
    if (next == std::string_view::npos) break;
    begin = next + 1;
  }
  return {begin, std::min(text.find('\n', begin), text.size())};
}

/// Only a line `key = value` can be left out without changing what the lines after it mean.
bool can_be_left_out(std::string_view line) {
  const auto first = line.find_first_not_of(" \t");
  return first != std::string_view::npos && line[first] != '[' && line.find('=') != std::string_view::npos;
}

/// toml++ names the place a parser noticed it, at times the line after; its words are kept, without its
/// prefix.
std::string reason_of(const toml::parse_error& error) {
  std::string reason(error.description());
  std::replace(reason.begin(), reason.end(), '\n', ' ');
  return "not readable as TOML: " + reason;
}

}  // namespace

std::string_view called(NodeKind kind) {
  switch (kind) {
    case NodeKind::table:
      return "a table";
    case NodeKind::list:
      return "a list";
    case NodeKind::text:
      return "a text";
    case NodeKind::whole:
    case NodeKind::number:
      return "a number";
    case NodeKind::truth:
      return "true or false";
    case NodeKind::moment:
      return "a date or time";
  }
  return "a value";
}

Node parse(std::string_view text, Report& report) {
  if (text.size() > kLargestText) {
    report.fault(Place{}, "", "the file is longer than 1 MiB", "a file of a few kilobytes");
    report.lines_were_left_out();
    return {};
  }
  std::string rest(text);
  for (int broken = 0; broken < kMostBrokenLines; ++broken) {
    const toml::parse_result result = toml::parse(std::string_view(rest));
    if (result) return node_of(result.table());
    const Place at = place_of(result.error().source());
    report.fault(at, "", reason_of(result.error()), "a line of the form key = value, texts in double quotes");
    report.lines_were_left_out();
    const Line line = line_at(rest, at.line);
    if (!can_be_left_out(std::string_view(rest).substr(line.begin, line.end - line.begin))) return {};
    std::fill(rest.begin() + static_cast<std::ptrdiff_t>(line.begin),
              rest.begin() + static_cast<std::ptrdiff_t>(line.end), ' ');
  }
  return {};
}

}  // namespace setwell::toml_text
