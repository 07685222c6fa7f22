#include "daemon/rpc/dispatcher.hpp"

#include <stdexcept>
#include <string>

#include <boost/json/parse.hpp>
#include <catch2/catch.hpp>

#include "daemon/api/frame.hpp"

namespace {

using namespace setwell;
namespace json = boost::json;

struct PourParams {
  std::string sheet;
  double grams = 0;
  std::optional<std::string> lot;
  std::vector<std::string> pieces;
};
BOOST_DESCRIBE_STRUCT(PourParams, (), (sheet, grams, lot, pieces))

struct PourAnswer {
  std::string text;
  std::optional<double> left_s;
};
BOOST_DESCRIBE_STRUCT(PourAnswer, (), (text, left_s))

quantity::Result<PourAnswer> pour(const PourParams& params) {
  if (params.sheet == "thin air") throw std::runtime_error("disk I/O error");
  if (params.sheet == "none") return quantity::not_found("there is no sheet `none`");
  if (params.sheet == "long") return PourAnswer{std::string(api::kLongestAnswer, 'x'), {}};
  return PourAnswer{params.sheet + (params.lot ? " of lot " + *params.lot : ""), params.grams};
}

rpc::Dispatcher with_pour() {
  std::vector<rpc::Method> methods;
  methods.push_back(rpc::row<PourParams, PourAnswer>("pour", "Pours.", "what was poured",
                                                     {{"sheet", "the material"}}, pour));
  return rpc::Dispatcher(std::move(methods));
}

/// A client that has said hello, and what its lines are answered with.
struct Talk {
  rpc::Dispatcher dispatcher = with_pour();
  rpc::Caller caller{true, "test"};

  json::object say(const std::string& line) {
    const auto outcome = dispatcher.answer(line, caller);
    REQUIRE(outcome.line.has_value());
    REQUIRE(outcome.line->ends_with('\n'));
    return json::parse(*outcome.line).as_object();
  }
  json::object pour(const std::string& params) {
    return say(R"({"jsonrpc":"2.0","id":1,"method":"pour","params":)" + params + "}");
  }
};

std::string kind(const json::object& answer) {
  return std::string(answer.at("error").at("data").at("kind").as_string());
}
std::string message(const json::object& answer) {
  return std::string(answer.at("error").at("message").as_string());
}
std::int64_t code(const json::object& answer) {
  return answer.at("error").at("code").as_int64();
}

constexpr auto kHello = R"({"jsonrpc":"2.0","id":1,"method":"hello","params":{"client":"c","protocol":1}})";

TEST_CASE("The first call must be hello, with the protocol we speak", "[dispatcher]") {
  Talk talk;
  talk.caller = {};
  CHECK(kind(talk.pour("{}")) == "protocol");
  CHECK(kind(talk.say(R"({"jsonrpc":"2.0","id":1,"method":"describe"})")) == "protocol");
  const auto other =
      talk.say(R"({"jsonrpc":"2.0","id":1,"method":"hello","params":{"client":"c","protocol":2}})");
  CHECK(kind(other) == "protocol");
  CHECK_FALSE(talk.caller.greeted);
  CHECK(talk.say(kHello).at("result").at("protocol") == 1);
  CHECK(talk.caller.client == "c");
  CHECK(talk.pour(R"({"sheet":"clear","grams":2})").contains("result"));
}

TEST_CASE("A call is carried out with its named parameters, the optional ones missing or null",
          "[dispatcher]") {
  Talk talk;
  const auto answer = talk.pour(R"({"sheet":"clear","grams":2,"lot":null})");
  CHECK(answer.at("jsonrpc") == "2.0");
  CHECK(answer.at("id") == 1);
  CHECK(answer.at("result").at("text") == "clear");
  CHECK(talk.pour(R"({"sheet":"clear","grams":2,"lot":"A7"})").at("result").at("text") == "clear of lot A7");
}

TEST_CASE("An unknown parameter is refused by name, with those that are taken", "[dispatcher]") {
  Talk talk;
  const auto answer = talk.pour(R"({"sheet":"clear","grams":2,"color":"red"})");
  CHECK(code(answer) == -32602);
  CHECK(kind(answer) == "usage");
  CHECK(message(answer) == "`color` is no parameter of pour; it takes sheet, grams, lot, pieces");
}

TEST_CASE("A missing parameter and a wrong type are refused by name", "[dispatcher]") {
  Talk talk;
  CHECK(message(talk.pour(R"({"sheet":"clear"})")) == "pour needs `grams`");
  CHECK(message(talk.pour(R"({"sheet":"clear","grams":null})")) == "pour needs `grams`");
  const auto answer = talk.pour(R"({"sheet":"clear","grams":"2"})");
  CHECK(code(answer) == -32602);
  CHECK(message(answer) == "`grams` must be a number");
  CHECK(code(talk.pour("[1]")) == -32602);
}

TEST_CASE("A method nobody knows is -32601, garbage -32700, several at once -32600", "[dispatcher]") {
  Talk talk;
  CHECK(code(talk.say(R"({"jsonrpc":"2.0","id":1,"method":"paint"})")) == -32601);
  CHECK(code(talk.say("setwell now")) == -32700);
  CHECK(code(talk.say("[]")) == -32600);
}

TEST_CASE("What the workshop refuses travels as -32000 with its kind", "[dispatcher]") {
  Talk talk;
  const auto answer = talk.pour(R"({"sheet":"none","grams":2})");
  CHECK(code(answer) == -32000);
  CHECK(kind(answer) == "not-found");
  CHECK(message(answer) == "there is no sheet `none`");
}

TEST_CASE("A failing daemon answers -32603 and the log hears of it", "[dispatcher]") {
  Talk talk;
  const auto line = R"({"jsonrpc":"2.0","id":1,"method":"pour","params":{"sheet":"thin air","grams":1}})";
  const auto outcome = talk.dispatcher.answer(line, talk.caller);
  CHECK(outcome.broken == "pour: disk I/O error");
  const auto answer = json::parse(*outcome.line).as_object();
  CHECK(code(answer) == -32603);
  CHECK(kind(answer) == "broken");
}

TEST_CASE("A notification is carried out and never answered, even when it is wrong", "[dispatcher]") {
  Talk talk;
  talk.caller = {};
  CHECK_FALSE(talk.dispatcher.answer(R"({"jsonrpc":"2.0","method":"pour"})", talk.caller).line);
  const auto hello = R"({"jsonrpc":"2.0","method":"hello","params":{"client":"c","protocol":1}})";
  CHECK_FALSE(talk.dispatcher.answer(hello, talk.caller).line);
  CHECK(talk.caller.greeted);
  CHECK_FALSE(talk.dispatcher.answer(R"({"jsonrpc":"2.0","method":"paint"})", talk.caller).line);
}

TEST_CASE("An answer too long to send is an error that says so", "[dispatcher]") {
  Talk talk;
  CHECK(message(talk.pour(R"({"sheet":"long","grams":2})")) ==
        "the answer is too long to send; ask for a shorter span");
}

TEST_CASE("describe lists every method with its parameters and schemas", "[dispatcher]") {
  Talk talk;
  const auto answer = talk.say(R"({"jsonrpc":"2.0","id":"d","method":"describe"})");
  const auto& methods = answer.at("result").at("methods").as_array();
  REQUIRE(methods.size() == 3);
  CHECK(methods[0].at("name") == "describe");
  CHECK(methods[1].at("name") == "hello");
  const auto& pour = methods[2].as_object();
  CHECK(pour.at("params").at(0) ==
        json::parse(R"({"name":"sheet","type":"text","required":true,"description":"the material"})"));
  CHECK(pour.at("params").at(2).at("required") == false);
  CHECK(pour.at("params").at(3).at("type") == "list of text");
  CHECK(pour.at("params_schema").at("required") == json::parse(R"(["sheet","grams"])"));
  CHECK(pour.at("result_schema").at("properties").as_object().contains("left_s"));
}

}  // namespace
