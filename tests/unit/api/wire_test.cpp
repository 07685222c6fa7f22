#include <algorithm>
#include <string>
#include <vector>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "daemon/api/error_codes.hpp"
#include "daemon/api/frame.hpp"
#include "daemon/api/rpc_envelope.hpp"

namespace {

using namespace setwell;
using quantity::ErrorKind;

std::vector<std::string> lines_of(std::string_view bytes, std::size_t piece, std::size_t longest = 64) {
  api::LineCutter cutter(longest);
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < bytes.size(); at += piece) {
    cutter.add(bytes.substr(at, piece));
    while (auto line = cutter.next())
      lines.push_back(*line);
  }
  return lines;
}

int code_of_line(std::string_view line) {
  const auto read = api::parse_call(line);
  const auto* none = std::get_if<api::NoCall>(&read);
  return none == nullptr ? 0 : static_cast<int>(none->fault.code);
}

TEST_CASE("Lines are the same however the bytes arrive", "[frame]") {
  const std::string bytes = "one\r\n\n\ntwo\nthree and more\nunfinished";
  const std::vector<std::string> expected{"one", "two", "three and more"};
  for (std::size_t piece = 1; piece <= bytes.size(); ++piece)
    CHECK(lines_of(bytes, piece) == expected);
}

TEST_CASE("A line longer than allowed is noticed before it ends, and nothing after it is read", "[frame]") {
  api::LineCutter cutter(8);
  cutter.add("1234567\n");
  CHECK(cutter.next() == "1234567");
  cutter.add("12345678");
  CHECK_FALSE(cutter.next().has_value());
  CHECK_FALSE(cutter.too_long());
  cutter.add("9");
  CHECK_FALSE(cutter.next().has_value());
  CHECK(cutter.too_long());
  cutter.add("\nshort\n");
  CHECK_FALSE(cutter.next().has_value());
}

TEST_CASE("A call is read with its id, method and named parameters", "[envelope]") {
  const auto read = api::parse_call(R"({"jsonrpc":"2.0","id":7,"method":"now","params":{"a":1}})");
  const auto& call = std::get<api::Call>(read);
  CHECK(call.id == boost::json::value(7));
  CHECK(call.method == "now");
  CHECK(call.params.at("a") == 1);
}

TEST_CASE("A call without an id is a notification, and missing or null parameters are none", "[envelope]") {
  const auto read = api::parse_call(R"({"jsonrpc":"2.0","method":"now","params":null})");
  CHECK_FALSE(std::get<api::Call>(read).id.has_value());
  CHECK(std::get<api::Call>(read).params.empty());
}

TEST_CASE("What is no call is told apart by its number", "[envelope]") {
  CHECK(code_of_line("{") == -32700);
  CHECK(code_of_line("\"\xff\xfe\"") == -32700);
  CHECK(code_of_line(std::string(5000, '[')) == -32700);
  CHECK(code_of_line("7") == -32600);
  CHECK(code_of_line("[]") == -32600);
  CHECK(code_of_line(R"([{"jsonrpc":"2.0","id":1,"method":"now"}])") == -32600);
  CHECK(code_of_line(R"({"id":1,"method":"now"})") == -32600);
  CHECK(code_of_line(R"({"jsonrpc":"1.0","id":1,"method":"now"})") == -32600);
  CHECK(code_of_line(R"({"jsonrpc":"2.0","id":1})") == -32600);
  CHECK(code_of_line(R"({"jsonrpc":"2.0","id":{},"method":"now"})") == -32600);
  CHECK(code_of_line(R"({"jsonrpc":"2.0","id":1,"method":"now","params":[1]})") == -32602);
}

TEST_CASE("A fault keeps the id of the line it answers", "[envelope]") {
  const auto read = api::parse_call(R"({"jsonrpc":"2.0","id":"x","method":5})");
  CHECK(std::get<api::NoCall>(read).id == boost::json::value("x"));
}

TEST_CASE("What is written is read back, in one line", "[envelope]") {
  const auto line = api::answer_line(3, {{"text", "two\nlines"}});
  CHECK(std::count(line.begin(), line.end(), '\n') == 1);
  const auto read = api::parse_answer(line, 3);
  REQUIRE(read.has_value());
  CHECK(read->at("text") == "two\nlines");
  const auto call = api::parse_call(api::call_line(4, "touch", {{"word", "firm"}}));
  CHECK(std::get<api::Call>(call).params.at("word") == "firm");
}

TEST_CASE("Each kind of refusal comes back as the same kind", "[envelope]") {
  for (const auto kind : {ErrorKind::refused, ErrorKind::usage, ErrorKind::not_found, ErrorKind::invalid}) {
    const auto read = api::parse_answer(api::fault_line(1, api::fault_from({kind, "why"})), 1);
    REQUIRE(read.has_error());
    CHECK((read.error() == quantity::Error{kind, "why"}));
  }
}

TEST_CASE("A fault in the protocol is unreachable to the client, and a kind it never heard of is refused",
          "[envelope]") {
  CHECK(api::kind_of("protocol") == ErrorKind::unreachable);
  CHECK(api::kind_of("broken") == ErrorKind::refused);
  CHECK(api::kind_of("something new") == ErrorKind::refused);
}

TEST_CASE("An answer that is not one, or to another call, is unreachable", "[envelope]") {
  for (const auto* line :
       {"HTTP/1.1 400", "[]", R"({"id":1,"result":{}})", R"({"jsonrpc":"2.0","result":{}})",
        R"({"jsonrpc":"2.0","id":2,"result":{}})", R"({"jsonrpc":"2.0","id":1,"result":1})"}) {
    INFO(line);
    const auto read = api::parse_answer(line, 1);
    REQUIRE(read.has_error());
    CHECK(read.error().kind == ErrorKind::unreachable);
  }
}

TEST_CASE("Each kind has the exit code that the command line promises", "[exit]") {
  CHECK(api::exit_code(ErrorKind::refused) == 1);
  CHECK(api::exit_code(ErrorKind::usage) == 2);
  CHECK(api::exit_code(ErrorKind::unreachable) == 3);
  CHECK(api::exit_code(ErrorKind::not_found) == 4);
  CHECK(api::exit_code(ErrorKind::invalid) == 5);
}

}  // namespace
