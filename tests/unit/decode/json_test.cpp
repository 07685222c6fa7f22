#include <random>

#include <catch2/catch.hpp>

#include "tests/unit/decode/messages.hpp"

using namespace setwell;
using namespace setwell::tests;
using decode::Unit;

TEST_CASE("A value is found by its pointer, whatever else the payload says", "[decode]") {
  CHECK(value(json_at("/temperature"), R"({"humidity":48.2,"new":[1,{"a":2}],"temperature":21.5})") == 21.5);
  CHECK(value(json_at("/probeA/Temperature"), R"({"Time":"x","probeA":{"Temperature":21.5}})") == 21.5);
  CHECK(value(json_at("/a~1b/m~0n"), R"({"a/b":{"m~n":21.5}})") == 21.5);
  CHECK(value(json_at("/list/1"), R"({"list":[1,21.5]})") == 21.5);
  CHECK(value(json_at(""), "21.5") == 21.5);
  CHECK(value(json_at("/t"), R"({"t":"21.5 "})") == 21.5);
  CHECK(value(json_at("/t"), R"({"t":21})") == 21.0);
}

TEST_CASE("An absent member is no reading and no refusal; null is a refusal", "[decode]") {
  for (const char* payload : {R"({"battery":87})", "[]", "21.5", R"({"t2":{"t":1}})", "null"}) {
    INFO(payload);
    CHECK(refusal(json_at("/t"), payload) == "absent");
  }
  CHECK(refusal(json_at("/a/b"), R"({"a":1})") == "absent");
  CHECK(refusal(json_at("no-pointer"), R"({"t":1})") == "absent");
  CHECK(refusal(json_at("/t"), R"({"t":null})") == "no-value");
  CHECK(refusal(json_at("/t"), R"({"t":"nan"})") == "no-value");
  CHECK(refusal(json_at("/t"), "") == "no-value");
}

TEST_CASE("What is no number in JSON is not taken for one", "[decode]") {
  for (const char* payload :
       {R"({"t":true})", R"({"t":{}})", R"({"t":[21.5]})", R"({"t":"warm"})", R"({"t":"21,5"})"}) {
    INFO(payload);
    CHECK(refusal(json_at("/t"), payload) == "not-a-number");
  }
}

TEST_CASE("JSON is read strictly: one document, no key twice, no extensions, no deep nesting", "[decode]") {
  for (const char* payload : {R"({"t":21.)", R"({"t":21.5}{"t":21.6})", R"({"t":21.5,})", R"({"t":NaN})",
                              R"({"t":1,"t":2})", R"({"a":{"x":1,"x":1},"t":2})", R"({"t":1,"\u0074":2})",
                              R"({'t':1})", R"(/**/{"t":1})", "offline", R"({"t":01})", R"({"t":1} x)"}) {
    INFO(payload);
    CHECK(refusal(json_at("/t"), payload) == "not-json");
  }
  CHECK(refusal(json_at("/t"), R"({"t":1,"a":)" + std::string(40, '[') + std::string(40, ']') + "}") ==
        "not-json");
  CHECK(value(json_at("/t"), R"({"a":{"t":1},"b":{"t":1},"t":2})") == 2.0);
}

TEST_CASE("An element is picked by its identifier, never by its place", "[decode]") {
  auto spec = json_at("/t");
  spec.select = decode::Select{"/id", "p2"};
  CHECK(value(spec, R"([{"id":"p1","t":21.5},{"id":"p2","t":22.0}])") == 22.0);
  CHECK(value(spec, R"([{"id":"p2","t":22.0},{"id":"p1","t":21.5}])") == 22.0);
  CHECK(refusal(spec, R"([{"id":"p1","t":21.5}])") == "absent");
  CHECK(refusal(spec, "[]") == "absent");
  CHECK(refusal(spec, R"({"id":"p2","t":1})") == "absent");
  spec.select->is = "7";
  CHECK(value(spec, R"([{"id":6,"t":21.5},{"id":7,"t":22.0}])") == 22.0);
}

TEST_CASE("A member that states the unit is obeyed message by message", "[decode]") {
  auto spec = json_at("/temp");
  spec.unit_path = "/unit";
  CHECK(value(spec, R"({"temp":70.7,"unit":"F"})") == Approx(21.5).margin(1e-9));
  CHECK(value(spec, R"({"temp":21.5,"unit":"°C"})") == 21.5);
  CHECK(value(spec, R"({"temp":21.5,"unit":"celsius"})") == 21.5);
  CHECK(value(spec, R"({"temp":21.5})") == 21.5);
  CHECK(refusal(spec, R"({"temp":21.5,"unit":"%"})") == "unit-conflict");
  CHECK(refusal(spec, R"({"temp":294,"unit":"K"})") == "unit-conflict");
  CHECK(refusal(spec, R"({"temp":294,"unit":3})") == "unit-conflict");
}

TEST_CASE("A humidity ratio is a hundredth of a percentage", "[decode]") {
  auto spec = hygrometer();
  spec.unit = Unit::ratio;
  CHECK(value(spec, "0.482") == Approx(48.2).margin(1e-9));
  CHECK(refusal(spec, "48.2") == "out-of-range");
}

TEST_CASE("SenML base fields are resolved in order", "[decode]") {
  auto spec = thermometer();
  spec.format = decode::Format::senml;
  spec.path = "urn:dev:x:0a1b:t";
  const auto first = taken(spec, message(R"([{"bn":"urn:dev:x:0a1b:","bt":1930384800,"bu":"Cel"},
    {"n":"t","v":21.5},{"n":"h","u":"%RH","v":48.2,"t":-60}])"));
  CHECK(first.value == 21.5);
  CHECK(first.measured == at("2031-03-04T10:00:00Z"));
  CHECK(first.by_device);
  auto humidity = hygrometer();
  humidity.format = decode::Format::senml;
  humidity.path = "urn:dev:x:0a1b:h";
  const auto other = taken(humidity, message(R"([{"bn":"urn:dev:x:0a1b:","bt":1930384800,"bu":"Cel"},
    {"n":"t","v":21.5},{"n":"h","u":"%RH","v":48.2,"t":-60}])"));
  CHECK(other.value == 48.2);
  CHECK(other.measured == at("2031-03-04T09:59:00Z"));
  CHECK(value(spec, R"([{"bn":"urn:dev:x:0a1b:","bv":20,"n":"t","v":1.5}])") == 21.5);
  CHECK(value(spec, R"([{"bn":"other:","n":"t","v":1},{"bn":"urn:dev:x:0a1b:","n":"t","v":21.5}])") == 21.5);
}

TEST_CASE("A SenML history gives one value per record, in the order of the pack", "[decode]") {
  auto spec = thermometer();
  spec.format = decode::Format::senml;
  spec.path = "t";
  const auto decoding =
      decode::decode(spec, message(R"([{"n":"t","v":20,"t":-120},{"n":"t","t":-60},{"n":"t","v":22}])"));
  REQUIRE(decoding.size() == 3);
  const auto& first = std::get<decode::DecodedValue>(decoding[0]);
  CHECK(first.value == 20.0);
  CHECK(first.measured == at("2031-03-04T09:58:00Z"));
  CHECK_FALSE(first.by_device);
  CHECK(std::get<quantity::Refusal>(decoding[1]) == quantity::Refusal::no_value);
  CHECK(std::get<decode::DecodedValue>(decoding[2]).value == 22.0);
}

TEST_CASE("SenML that is another version, must be understood, or carries no number is refused", "[decode]") {
  auto spec = thermometer();
  spec.format = decode::Format::senml;
  spec.path = "t";
  CHECK(value(spec, R"([{"bver":10,"n":"t","v":21.5}])") == 21.5);
  CHECK(refusal(spec, R"([{"bver":11,"n":"t","v":21.5}])") == "not-json");
  CHECK(refusal(spec, R"([{"n":"t","v":21.5,"ext_":1}])") == "not-json");
  CHECK(refusal(spec, R"({"n":"t","v":21.5})") == "not-json");
  CHECK(refusal(spec, R"([{"n":"t","vs":"21.5"}])") == "not-a-number");
  CHECK(refusal(spec, R"([{"n":"t","vb":true}])") == "not-a-number");
  CHECK(refusal(spec, R"([{"n":"t","u":"Cel"}])") == "no-value");
  CHECK(refusal(spec, R"([{"n":"t","u":"%RH","v":48}])") == "unit-conflict");
  CHECK(refusal(spec, R"([{"n":"x","v":48}])") == "absent");
  auto ratio = hygrometer();
  ratio.format = decode::Format::senml;
  ratio.path = "h";
  CHECK(value(ratio, R"([{"n":"h","u":"/","v":0.482}])") == Approx(48.2).margin(1e-9));
}

TEST_CASE("Decoding answers on any bytes", "[decode]") {
  std::mt19937 random(20310304);
  const std::vector<std::string> seeds{R"({"t":21.5,"h":{"a":[1,2]},"ts":1930384740})",
                                       R"([{"bn":"a:","bt":1930384800,"n":"t","v":21.5}])", "21.5;48.2",
                                       "21.5 °C"};
  for (int round = 0; round < 20000; ++round) {
    std::string payload = seeds[random() % seeds.size()];
    for (unsigned edits = 1 + random() % 4; edits > 0; --edits) {
      if (payload.empty()) break;
      const auto place = random() % payload.size();
      if (random() % 3 == 0) {
        payload.erase(place, 1 + random() % 5);
      } else {
        payload[place] = static_cast<char>(random() % 256);
      }
    }
    auto spec = json_at("/t");
    spec.format = static_cast<decode::Format>(random() % 4);
    spec.time_path = "/ts";
    spec.with_humidity = "/h/a/0";
    CHECK_NOTHROW(decode::decode(spec, message(payload)));
  }
}
