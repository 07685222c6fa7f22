#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "daemon/toml_text/fault.hpp"

namespace setwell::toml_text {

enum class NodeKind { table, list, text, whole, number, truth, moment };

/// What a value of this kind is called in a message: "a table", "a number", …
[[nodiscard]] std::string_view called(NodeKind kind);

struct Member;

/// One TOML value with the place where it stands. Only the field of its kind is filled; a whole number fills
/// `number` too.
struct Node {
  NodeKind kind = NodeKind::table;
  Place at;
  std::string text;  ///< text; of a moment (date, time or both) the text in RFC 3339 form
  double number = 0.0;
  std::int64_t whole = 0;
  bool truth = false;
  std::vector<Node> items;      ///< of a list
  std::vector<Member> members;  ///< of a table, in the order of the file
};

struct Member {
  std::string key;
  Place at;
  Node value;
};

}  // namespace setwell::toml_text
