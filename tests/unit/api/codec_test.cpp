#include "daemon/api/codec.hpp"

#include <limits>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

namespace {

using namespace setwell;
namespace json = boost::json;

struct Poured {
  std::string piece;
  double grams = 0;
};
BOOST_DESCRIBE_STRUCT(Poured, (), (piece, grams))

struct Everything {
  std::string text;
  double number = 0;
  int whole = 0;
  std::int64_t big = 0;
  bool yes = true;
  std::optional<std::string> maybe;
  std::vector<Poured> list;
  std::map<std::string, double> map;
  Poured nested;
  json::value any;
  std::string else_;
};
BOOST_DESCRIBE_STRUCT(Everything, (), (text, number, whole, big, yes, maybe, list, map, nested, any, else_))

constexpr auto kFull = R"({"text":"ä","number":1.5,"whole":-3,"big":9007199254740993,"yes":false,"maybe":"m",
  "list":[{"piece":"fern-07","grams":2}],"map":{"a":1.0},"nested":{"piece":"p","grams":1e0},
  "any":[1,null],"else":"sand-first"})";

std::string fault_of(std::string_view text) {
  const auto read = api::from_json<Everything>(json::parse(text));
  return read ? "" : read.error().detail;
}

std::string with(std::string_view key, std::string_view value) {
  auto object = json::parse(kFull).as_object();
  object[key] = json::parse(value);
  return json::serialize(object);
}

std::string without(std::string_view key) {
  auto object = json::parse(kFull).as_object();
  object.erase(key);
  return json::serialize(object);
}

TEST_CASE("A described struct reads every member and writes it back the same", "[codec]") {
  const auto read = api::from_json<Everything>(json::parse(kFull));
  REQUIRE(read.has_value());
  CHECK(read->text == "ä");
  CHECK(read->whole == -3);
  CHECK(read->big == 9007199254740993);
  CHECK_FALSE(read->yes);
  CHECK(read->maybe == "m");
  CHECK(read->list.at(0).grams == 2.0);
  CHECK(read->map.at("a") == 1.0);
  CHECK(read->else_ == "sand-first");
  const auto again = api::from_json<Everything>(api::to_json(*read));
  REQUIRE(again.has_value());
  CHECK(json::serialize(api::to_json(*again)) == json::serialize(api::to_json(*read)));
}

TEST_CASE("Optional, list, map, bool and free members may be missing and keep their default", "[codec]") {
  for (const auto* key : {"maybe", "list", "map", "yes", "any"})
    CHECK(fault_of(without(key)).empty());
  CHECK(api::from_json<Everything>(json::parse(without("yes")))->yes);
  CHECK(api::from_json<Everything>(json::parse(with("yes", "null")))->yes);
}

TEST_CASE("Any other member is required, and null equals missing", "[codec]") {
  for (const auto* key : {"text", "number", "whole", "big", "nested", "else"}) {
    CHECK(fault_of(without(key)) == "`" + std::string(key) + "` is missing");
    CHECK(fault_of(with(key, "null")) == "`" + std::string(key) + "` is missing");
  }
}

TEST_CASE("A wrong type is named with its place and what is expected", "[codec]") {
  CHECK(fault_of(with("text", "1")) == "`text` must be text");
  CHECK(fault_of(with("number", "\"1\"")) == "`number` must be a number");
  CHECK(fault_of(with("whole", "1.5")) == "`whole` must be a whole number");
  CHECK(fault_of(with("whole", "4000000000")) == "`whole` must be a whole number");
  CHECK(fault_of(with("yes", "1")) == "`yes` must be true or false");
  CHECK(fault_of(with("list", "{}")) == "`list` must be a list");
  CHECK(fault_of(with("list", R"([{"piece":"a","grams":1},{"piece":"b","grams":"x"}])")) ==
        "`list[1].grams` must be a number");
  CHECK(fault_of(with("map", R"({"k":"x"})")) == "`map.k` must be a number");
  CHECK(fault_of("[]") == "the value must be an object");
}

TEST_CASE("A number beyond every number is no number", "[codec]") {
  auto object = json::parse(kFull).as_object();
  object["number"] = std::numeric_limits<double>::infinity();
  const auto read = api::from_json<Everything>(object);
  REQUIRE(read.has_error());
  CHECK(read.error().detail == "`number` must be a number");
}

TEST_CASE("A key nobody knows is refused in a request and passed over in an answer", "[codec]") {
  CHECK(fault_of(with("colour", "1")).starts_with("`colour` is not known; known here: text, number"));
  CHECK(fault_of(with("nested", R"({"piece":"p","grams":1,"x":1})")) ==
        "`nested.x` is not known; known here: piece, grams");
  CHECK(api::from_json<Everything>(json::parse(with("colour", "1")), api::UnknownKeys::ignored).has_value());
}

TEST_CASE("A number that is none and an empty optional are written as null", "[codec]") {
  Everything value;
  value.number = std::numeric_limits<double>::quiet_NaN();
  const auto object = api::to_object(value);
  CHECK(object.at("number").is_null());
  CHECK(object.at("maybe").is_null());
}

TEST_CASE("The schema of a request lists what must be given and allows nothing more", "[codec][schema]") {
  const auto schema = api::json_schema_of<Everything>(api::SchemaSide::request);
  CHECK(schema.at("$schema") == "https://json-schema.org/draft/2020-12/schema");
  CHECK(schema.at("additionalProperties") == false);
  CHECK(schema.at("required") == json::parse(R"(["text","number","whole","big","nested","else"])"));
  CHECK(schema.at("properties").at("maybe") ==
        json::parse(R"({"anyOf":[{"type":"string"},{"type":"null"}]})"));
  CHECK(schema.at("properties").at("list").at("items").at("required") == json::parse(R"(["piece","grams"])"));
  CHECK(schema.at("properties").at("whole") == json::parse(R"({"type":"integer"})"));
}

TEST_CASE("The schema of an answer promises every key and may grow", "[codec][schema]") {
  const auto schema = api::json_schema_of<Poured>();
  CHECK(schema.at("required") == json::parse(R"(["piece","grams"])"));
  CHECK_FALSE(schema.contains("additionalProperties"));
}

TEST_CASE("A struct lists its members with their types in words", "[codec]") {
  const auto notes = api::members_of<Everything>();
  CHECK(notes.at(0).name == "text");
  CHECK(notes.at(0).required);
  CHECK(notes.at(6).type == "list of object");
  CHECK_FALSE(notes.at(6).required);
  CHECK(notes.at(10).name == "else");
}

}  // namespace
