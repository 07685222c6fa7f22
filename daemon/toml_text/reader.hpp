#pragma once

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/toml_text/node.hpp"
#include "daemon/toml_text/units.hpp"

namespace setwell::toml_text {

/// Reads one TOML table, key by key. Every key that is asked for counts as known; `done` turns the rest into
/// faults. Whatever is wrong goes to the report, and the answer is then nothing. Keys must outlive the table
/// (string literals do). Holds references to the node and the report.
class Table {
 public:
  Table(const Node& table, std::string path, Report& report);

  [[nodiscard]] bool has(std::string_view key) const;
  /// Marks the key as known; nothing when it is not there.
  const Node* find(std::string_view key);
  /// The same, and a fault when it is not there.
  const Node* need(std::string_view key, std::string_view right);

  std::optional<std::string> text(std::string_view key);
  /// Empty (with a fault) when it is missing, empty or no text.
  std::string need_text(std::string_view key, std::string_view right);
  std::optional<bool> truth(std::string_view key);
  /// A bare number between two bounds, both allowed.
  std::optional<double> number(std::string_view key, double least, double most);
  std::optional<std::int64_t> whole(std::string_view key, std::int64_t least, std::int64_t most);
  std::vector<std::string> texts(std::string_view key);
  /// An id: lower-case letters, digits, `-` and `_`.
  std::string need_id(std::string_view key);
  std::optional<std::string> id(std::string_view key);

  /// A figure with its unit, by one of the functions of units.hpp.
  template <typename T>
  std::optional<T> figure(std::string_view key, Read<T> (*read)(std::string_view)) {
    const auto written = figure_text(key, read("").wrong.right);
    return written ? take(key, read(*written)) : std::nullopt;
  }

  /// One of the words, as its value.
  template <typename T>
  std::optional<T> choice(std::string_view key, const std::vector<std::pair<std::string_view, T>>& words) {
    const auto typed = text(key);
    if (!typed) return std::nullopt;
    std::vector<std::string_view> names;
    for (const auto& [name, value] : words) {
      if (name == *typed) return value;
      names.push_back(name);
    }
    not_among(key, *typed, names);
    return std::nullopt;
  }

  std::optional<Table> table(std::string_view key);
  /// `[[key]]`, any number of times; a list of `{…}` is the same, and what `right` shows when it is given.
  std::vector<Table> tables(std::string_view key, std::string_view right = {});

  void fault(std::string_view key, std::string what, std::string right);
  void warn(std::string_view key, std::string what, std::string right);
  void missing(std::string_view key, std::string_view right);
  void not_among(std::string_view key, std::string_view typed, const std::vector<std::string_view>& words);
  /// A fault for each key that nobody asked for.
  void done();

  [[nodiscard]] std::string path_of(std::string_view key) const;
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] Report& report() { return *report_; }

 private:
  const Member* member(std::string_view key) const;
  const Node* find_kind(std::string_view key, NodeKind kind, std::string_view right);
  std::optional<std::string> figure_text(std::string_view key, std::string_view right);
  template <typename T>
  std::optional<T> take(std::string_view key, Read<T> read) {
    if (!read.value) fault(key, std::move(read.wrong.what), std::move(read.wrong.right));
    return read.value;
  }

  const Node* node_;
  std::string path_;
  Report* report_;
  std::vector<std::string_view> known_;
};

}  // namespace setwell::toml_text
