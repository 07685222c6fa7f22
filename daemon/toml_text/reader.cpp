#include "daemon/toml_text/reader.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/toml_text/words.hpp"

namespace setwell::toml_text {
namespace {

bool good_id(std::string_view id) {
  return !id.empty() && id.size() <= 64 && std::all_of(id.begin(), id.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
}

constexpr std::string_view kIdRight = "lower-case letters, digits, - and _, like \"bench-1\"";

}  // namespace

Table::Table(const Node& table, std::string path, Report& report)
    : node_(&table), path_(std::move(path)), report_(&report) {
  report_->saw(path_, node_->at);
  for (const Member& m : node_->members)
    report_->saw(path_of(m.key), m.at);
}

std::string Table::path_of(std::string_view key) const {
  if (path_.empty()) return std::string(key);
  return key.empty() ? path_ : fmt::format("{}.{}", path_, key);
}

const Member* Table::member(std::string_view key) const {
  for (const Member& m : node_->members) {
    if (m.key == key) return &m;
  }
  return nullptr;
}

bool Table::has(std::string_view key) const {
  return member(key) != nullptr;
}

const Node* Table::find(std::string_view key) {
  if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.push_back(key);
  const Member* m = member(key);
  return m ? &m->value : nullptr;
}

const Node* Table::need(std::string_view key, std::string_view right) {
  const Node* node = find(key);
  if (!node) missing(key, right);
  return node;
}

const Node* Table::find_kind(std::string_view key, NodeKind kind, std::string_view right) {
  const Node* node = find(key);
  if (!node || node->kind == kind) return node;
  fault(key, fmt::format("{} where {} belongs", called(node->kind), called(kind)), std::string(right));
  return nullptr;
}

std::optional<std::string> Table::text(std::string_view key) {
  const Node* node = find_kind(key, NodeKind::text, "a text in double quotes");
  return node ? std::optional(node->text) : std::nullopt;
}

std::string Table::need_text(std::string_view key, std::string_view right) {
  if (!need(key, right)) return {};
  auto written = text(key);
  if (written && written->empty()) fault(key, "empty", std::string(right));
  return written.value_or("");
}

std::optional<bool> Table::truth(std::string_view key) {
  const Node* node = find_kind(key, NodeKind::truth, "true or false, without quotes");
  return node ? std::optional(node->truth) : std::nullopt;
}

std::optional<double> Table::number(std::string_view key, double least, double most) {
  const Node* node = find(key);
  if (!node) return std::nullopt;
  const bool fits = (node->kind == NodeKind::whole || node->kind == NodeKind::number) &&
                    node->number >= least && node->number <= most;
  if (fits) return node->number;
  const bool number = node->kind == NodeKind::whole || node->kind == NodeKind::number;
  fault(key,
        number ? fmt::format("{} is out of range", node->number)
               : fmt::format("{} where a number belongs", called(node->kind)),
        fmt::format("a number from {} to {}", least, most));
  return std::nullopt;
}

std::optional<std::int64_t> Table::whole(std::string_view key, std::int64_t least, std::int64_t most) {
  const Node* node = find(key);
  if (!node) return std::nullopt;
  if (node->kind == NodeKind::whole && node->whole >= least && node->whole <= most) return node->whole;
  const bool number = node->kind == NodeKind::whole || node->kind == NodeKind::number;
  fault(key,
        number ? fmt::format("{} is out of range", node->number)
               : fmt::format("{} where a whole number belongs", called(node->kind)),
        fmt::format("a whole number from {} to {}", least, most));
  return std::nullopt;
}

std::vector<std::string> Table::texts(std::string_view key) {
  constexpr std::string_view kRight = "a list of texts, like [\"a\", \"b\"]";
  std::vector<std::string> all;
  const Node* list = find_kind(key, NodeKind::list, kRight);
  if (!list) return all;
  for (std::size_t i = 0; i < list->items.size(); ++i) {
    const Node& item = list->items[i];
    if (item.kind == NodeKind::text) {
      all.push_back(item.text);
    } else {
      report_->fault(item.at, fmt::format("{}[{}]", path_of(key), i),
                     fmt::format("{} where a text belongs", called(item.kind)), std::string(kRight));
    }
  }
  return all;
}

std::optional<std::string> Table::id(std::string_view key) {
  auto written = text(key);
  if (!written || good_id(*written)) return written;
  fault(key, fmt::format("\"{}\" is no id", *written), std::string(kIdRight));
  return std::nullopt;
}

std::string Table::need_id(std::string_view key) {
  return need(key, kIdRight) ? id(key).value_or("") : std::string();
}

std::optional<std::string> Table::figure_text(std::string_view key, std::string_view right) {
  const Node* node = find(key);
  if (!node) return std::nullopt;
  if (node->kind == NodeKind::text) return node->text;
  const bool bare = node->kind == NodeKind::whole || node->kind == NodeKind::number;
  fault(key, bare ? "a number without a unit" : fmt::format("{} where a figure belongs", called(node->kind)),
        std::string(right));
  return std::nullopt;
}

std::optional<Table> Table::table(std::string_view key) {
  const Node* node = find_kind(key, NodeKind::table, fmt::format("a table, [{}]", path_of(key)));
  if (!node) return std::nullopt;
  return Table(*node, path_of(key), *report_);
}

std::vector<Table> Table::tables(std::string_view key, std::string_view right_items) {
  std::vector<Table> all;
  const std::string right =
      right_items.empty() ? fmt::format("[[{}]], once for each", path_of(key)) : std::string(right_items);
  const Node* list = find_kind(key, NodeKind::list, right);
  if (!list) return all;
  for (std::size_t i = 0; i < list->items.size(); ++i) {
    const Node& item = list->items[i];
    const std::string path = fmt::format("{}[{}]", path_of(key), i);
    if (item.kind == NodeKind::table) {
      all.emplace_back(item, path, *report_);
    } else {
      report_->fault(item.at, path, fmt::format("{} where a table belongs", called(item.kind)), right);
    }
  }
  return all;
}

void Table::fault(std::string_view key, std::string what, std::string right) {
  const Member* m = member(key);
  report_->fault(m ? m->at : node_->at, path_of(key), std::move(what), std::move(right));
}

void Table::warn(std::string_view key, std::string what, std::string right) {
  const Member* m = member(key);
  report_->warn(m ? m->at : node_->at, path_of(key), std::move(what), std::move(right));
}

void Table::missing(std::string_view key, std::string_view right) {
  report_->missing(node_->at, path_of(key), std::string(right));
}

void Table::not_among(std::string_view key, std::string_view typed,
                      const std::vector<std::string_view>& words) {
  const auto near = nearest(typed, words);
  fault(key, fmt::format("\"{}\" is not known here", typed),
        near ? fmt::format("perhaps \"{}\"; all: {}", *near, listed(words)) : listed(words));
}

void Table::done() {
  for (const Member& m : node_->members) {
    if (std::find(known_.begin(), known_.end(), m.key) != known_.end()) continue;
    const auto near = nearest(m.key, known_);
    report_->fault(m.at, path_of(m.key), "unknown key",
                   near ? fmt::format("perhaps {}", *near) : "one of " + listed(known_));
  }
}

}  // namespace setwell::toml_text
