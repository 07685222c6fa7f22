#include "daemon/toml_text/parse.hpp"

#include <algorithm>
#include <optional>
#include <sstream>

namespace {

/// toml++ 3.3 only asserts some of the things a file can get wrong, such as a table's name that ends in the
/// middle. Its asserts therefore stay on in every build, and throw: a slip in a file must not stop the
/// daemon.
struct ParserSlipped {};

[[noreturn]] void parser_slipped() {
  throw ParserSlipped{};
}

}  // namespace

#undef NDEBUG
#define TOML_ASSERT(expression) ((expression) ? static_cast<void>(0) : parser_slipped())
#define TOML_EXCEPTIONS 0
#include <toml++/toml.h>

namespace setwell::toml_text {
namespace {

/// One slip can spoil the lines after it: past so many nobody is helped by more.
constexpr int kMostBrokenLines = 12;
/// Stands in for a table whose name cannot be read; what is in it is left out.
constexpr std::string_view kUnreadTable = "?";

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
    if (key.str().starts_with(kUnreadTable)) continue;
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

/// Takes the line out so that the lines after it mean what they did: the head of a table becomes the head of
/// one that is not looked at. False when the line is taken out already.
bool take_out(std::string& text, int number) {
  const Line line = line_at(text, number);
  const std::string_view old = std::string_view(text).substr(line.begin, line.end - line.begin);
  const auto first = old.find_first_not_of(" \t\r");
  if (first == std::string_view::npos || old.starts_with("[\"?")) return false;
  const std::string instead =
      old[first] == '[' ? "[\"" + std::string(kUnreadTable) + std::to_string(number) + "\"]" : "";
  text.replace(line.begin, line.end - line.begin, instead);
  return true;
}

/// A line that could not be read, and why.
struct Broken {
  Place at;
  std::string reason;
};

/// The parser's own words.
std::string reason_of(const toml::parse_error& error) {
  return "not readable as TOML: " + std::string(error.description());
}

/// The table, or the first broken line; nothing of either when the parser slipped on its own asserts.
std::optional<Broken> try_parse(std::string_view text, Node& root) {
  const toml::parse_result result = toml::parse(text);
  if (!result) return Broken{place_of(result.error().source()), reason_of(result.error())};
  root = node_of(result.table());
  return std::nullopt;
}

bool slips(std::string_view text) {
  try {
    (void)toml::parse(text);
    return false;
  } catch (const ParserSlipped&) {
    return true;
  }
}

/// The line the parser slips on: it reads from the front, so the shortest beginning that makes it slip ends
/// there.
int slipping_line(std::string_view text) {
  int reads = 0;
  int slips_at = 1 + static_cast<int>(std::count(text.begin(), text.end(), '\n'));
  while (slips_at - reads > 1) {
    const int middle = reads + (slips_at - reads) / 2;
    (slips(text.substr(0, line_at(text, middle).end)) ? slips_at : reads) = middle;
  }
  return slips_at;
}

std::optional<Broken> parse_once(std::string_view text, Node& root) {
  try {
    return try_parse(text, root);
  } catch (const ParserSlipped&) {
    return Broken{{slipping_line(text), 1}, "not readable as TOML: a key or a table's name breaks off"};
  }
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
  Node root;
  for (int broken = 0; broken < kMostBrokenLines; ++broken) {
    const auto found = parse_once(rest, root);
    if (!found) return root;
    report.fault(found->at, "", found->reason, "a line of the form key = value, texts in double quotes");
    report.lines_were_left_out();
    if (!take_out(rest, found->at.line)) return {};
  }
  return {};
}

}  // namespace setwell::toml_text
