#include "sensors/decode/formats/strict_json.hpp"

#include <cstdint>
#include <set>
#include <string>
#include <vector>

#include <boost/json/basic_parser_impl.hpp>
#include <boost/json/parse.hpp>

namespace setwell::decode {
namespace {

namespace json = boost::json;

/// Listens to a document and notes whether an object names a key twice; the library's own tree keeps the last
/// one without a word.
struct KeyWatch {
  static constexpr std::size_t max_object_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_array_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_key_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_string_size = static_cast<std::size_t>(-1);

  using Ec = json::error_code;

  bool on_document_begin(Ec&) { return true; }
  bool on_document_end(Ec&) { return true; }
  bool on_array_begin(Ec&) { return true; }
  bool on_array_end(std::size_t, Ec&) { return true; }
  bool on_object_begin(Ec&) {
    open.emplace_back();
    return true;
  }
  bool on_object_end(std::size_t, Ec&) {
    open.pop_back();
    return true;
  }
  bool on_key_part(json::string_view part, std::size_t, Ec&) {
    key.append(part.data(), part.size());
    return true;
  }
  bool on_key(json::string_view part, std::size_t, Ec&) {
    key.append(part.data(), part.size());
    twice = !open.back().insert(std::move(key)).second || twice;
    key.clear();
    return true;
  }
  bool on_string_part(json::string_view, std::size_t, Ec&) { return true; }
  bool on_string(json::string_view, std::size_t, Ec&) { return true; }
  bool on_number_part(json::string_view, Ec&) { return true; }
  bool on_int64(std::int64_t, json::string_view, Ec&) { return true; }
  bool on_uint64(std::uint64_t, json::string_view, Ec&) { return true; }
  bool on_double(double, json::string_view, Ec&) { return true; }
  bool on_bool(bool, Ec&) { return true; }
  bool on_null(Ec&) { return true; }
  bool on_comment_part(json::string_view, Ec&) { return true; }
  bool on_comment(json::string_view, Ec&) { return true; }

  std::vector<std::set<std::string>> open;
  std::string key;
  bool twice = false;
};

json::parse_options strict_options() {
  json::parse_options options;
  options.max_depth = kDeepestNesting;
  return options;
}

bool names_a_key_twice(std::string_view text) {
  json::basic_parser<KeyWatch> parser(strict_options());
  json::error_code error;
  parser.write_some(false, text.data(), text.size(), error);
  return error || parser.handler().twice;
}

}  // namespace

std::optional<json::value> parse_strictly(std::string_view text) {
  json::error_code error;
  json::value document = json::parse({text.data(), text.size()}, error, {}, strict_options());
  if (error || names_a_key_twice(text)) return std::nullopt;
  return document;
}

}  // namespace setwell::decode
