#include <catch2/catch.hpp>

#include "sensors/decode/formats/room_csv.hpp"
#include "tests/unit/decode/messages.hpp"

using namespace setwell;
using namespace setwell::tests;

TEST_CASE("Register values mean no reading, each for its quantity", "[decode]") {
  for (const char* text : {"-127", "-196.6", "998", "999", "6553.5", "655.35", "-3276.8"}) {
    CHECK(refusal(thermometer(), text) == "sentinel");
  }
  for (const char* text : {"998", "999", "6553.5", "655.35"})
    CHECK(refusal(hygrometer(), text) == "sentinel");
  CHECK(refusal(hygrometer(), "-127") == "out-of-range");
  auto spec = thermometer();
  spec.sentinels = {-99.9, 77.0};
  CHECK(refusal(spec, "77.0") == "sentinel");
  CHECK(refusal(spec, "77.1") == "");
  CHECK(refusal(spec, "-127") == "sentinel");
}

TEST_CASE("A sentinel is looked for before the unit, and the unit before the range", "[decode]") {
  auto spec = thermometer();
  spec.unit = decode::Unit::deg_f;
  CHECK(refusal(spec, "-196.6") == "sentinel");
  CHECK(refusal(thermometer(), "999 F") == "sentinel");
  CHECK(refusal(thermometer(), "300 F") == "unit-conflict");
  CHECK(refusal(thermometer(), "300 C") == "out-of-range");
}

TEST_CASE("85.0 is told apart only by the sensor's own unit and left to the neighbours", "[decode]") {
  CHECK(taken(thermometer(), message("85.0")).power_on);
  CHECK_FALSE(taken(thermometer(), message("84.9")).power_on);
  auto spec = thermometer();
  spec.unit = decode::Unit::deg_f;
  CHECK_FALSE(taken(spec, message("85.0")).power_on);
}

TEST_CASE("Both zero together is a sensor that has not measured; a lone zero degrees is weather",
          "[decode]") {
  auto spec = json_at("/t");
  spec.with_humidity = "/h";
  CHECK(refusal(spec, R"({"t":0,"h":0})") == "boot-zero");
  CHECK(refusal(spec, R"({"t":0.0,"h":"0"})") == "boot-zero");
  CHECK(value(spec, R"({"t":0,"h":48})") == 0.0);
  CHECK(value(spec, R"({"t":0})") == 0.0);
  CHECK(value(json_at("/t"), R"({"t":0,"h":0})") == 0.0);
  CHECK(refusal(json_at("/h", hygrometer()), R"({"t":21,"h":0})") == "boot-zero");
}

TEST_CASE("The range holds after conversion, both ends included", "[decode]") {
  CHECK(value(thermometer(), "-40") == -40.0);
  CHECK(refusal(thermometer(), "-40.01") == "out-of-range");
  CHECK(refusal(thermometer(), "85.01") == "out-of-range");
  CHECK(value(hygrometer(), "105") == 105.0);
  CHECK(refusal(hygrometer(), "105.1") == "out-of-range");
  CHECK(refusal(hygrometer(), "-3") == "out-of-range");
  auto spec = thermometer();
  spec.unit = decode::Unit::deg_f;
  CHECK(value(spec, "140") == Approx(60.0));
  spec.range = decode::Range{10.0, 30.0};
  CHECK(refusal(spec, "140") == "out-of-range");
}

TEST_CASE("A humidity a little over 100 % is kept as measured and marked", "[decode]") {
  CHECK(taken(hygrometer(), message("100.7")).clamped);
  CHECK(taken(hygrometer(), message("100.7")).value == 100.7);
  CHECK_FALSE(taken(hygrometer(), message("100.0")).clamped);
}

TEST_CASE("A retained message is no sample, but what cannot be read is told first", "[decode]") {
  auto raw = message("15.8");
  raw.retained = true;
  CHECK(refusal(thermometer(), raw) == "retained");
  raw.payload = "warm";
  CHECK(refusal(thermometer(), raw) == "not-a-number");
  raw.payload = "999";
  CHECK(refusal(thermometer(), raw) == "retained");
  auto absent = message(R"({"battery":87})");
  absent.retained = true;
  CHECK(refusal(json_at("/t"), absent) == "absent");
}

TEST_CASE("Sequence and uptime come along with the value", "[decode]") {
  auto spec = json_at("/t");
  spec.seq_path = "/seq";
  spec.uptime_path = "/up";
  const auto with = taken(spec, message(R"({"up":8123.5,"seq":417,"t":21.5})"));
  CHECK(with.seq == 417);
  CHECK(with.uptime == 8123.5);
  const auto without = taken(spec, message(R"({"t":21.5,"seq":1.5,"up":"x"})"));
  CHECK_FALSE(without.seq);
  CHECK_FALSE(without.uptime);
}

TEST_CASE("Presence is read by the channel's own words, in any case of letters", "[decode]") {
  decode::Availability availability{"shop/bench/status", "Alive", "gone"};
  auto raw = message("ALIVE\n");
  CHECK_FALSE(decode::decode_presence(availability, raw));
  raw.topic = "shop/bench/status";
  CHECK(decode::decode_presence(availability, raw) == decode::Presence::online);
  raw.payload = "gone";
  CHECK(decode::decode_presence(availability, raw) == decode::Presence::offline);
  raw.payload = "online";
  CHECK_FALSE(decode::decode_presence(availability, raw));
}

TEST_CASE("A channel's defaults follow its quantity, and its calibration its valid-from time", "[decode]") {
  auto spec = thermometer();
  CHECK(decode::error_of(spec) == 0.5);
  CHECK(decode::error_of(hygrometer()) == 5.0);
  spec.offset = {{-2.1, at("2031-03-01T00:00:00Z")}, {-1.5, at("2031-03-05T00:00:00Z")}};
  CHECK(decode::offset_at(spec, at("2031-02-28T00:00:00Z")) == 0.0);
  CHECK(decode::offset_at(spec, at("2031-03-04T00:00:00Z")) == -2.1);
  CHECK(decode::offset_at(spec, at("2031-03-06T00:00:00Z")) == -1.5);
  CHECK(value(spec, "21.5") == 21.5);
}

TEST_CASE("Two gateways that hear one probe feed one series; two topics without a probe feed two",
          "[decode]") {
  auto one = thermometer();
  auto other = thermometer();
  one.topic = "gw1/p7";
  other.topic = "gw2/p7";
  CHECK(decode::id_of(one) != decode::id_of(other));
  one.probe = other.probe = "p7";
  CHECK(decode::id_of(one) == decode::id_of(other));
  other.quantity = quantity::MeasuredQuantity::relative_humidity;
  CHECK(decode::id_of(one) != decode::id_of(other));
}

TEST_CASE("A recorded room is read row by row, times without a zone as UTC", "[decode]") {
  const auto rows = decode::parse_room_csv(
      "time,temperature_c,humidity_pct\r\n2031-03-04T10:00:00Z,21.5,48.2\n\n2031-03-04T10:10:00,-3,100\n"
      "2031-03-04T12:20:00+02:00,20,50");
  REQUIRE(rows.has_value());
  REQUIRE(rows->size() == 3);
  CHECK((*rows)[0].at == at("2031-03-04T10:00:00Z"));
  CHECK((*rows)[1].at == at("2031-03-04T10:10:00Z"));
  CHECK((*rows)[2].at == at("2031-03-04T10:20:00Z"));
  CHECK((*rows)[1].temperature_c == -3.0);
  CHECK((*rows)[0].humidity_pct == 48.2);
}

TEST_CASE("A damaged room names the line", "[decode]") {
  const std::string header = "time,temperature_c,humidity_pct\n";
  for (const char* row : {"yesterday,1,2", "2031-03-04T10:00:00Z,1", "2031-03-04T10:00:00Z,1,2,3",
                          "2031-03-04T10:00:00Z,warm,2"}) {
    const auto rows = decode::parse_room_csv(header + "2031-03-04T09:00:00Z,1,2\n" + row + "\n");
    REQUIRE(rows.has_error());
    CHECK(rows.error().detail.starts_with("line 3:"));
  }
  CHECK(decode::parse_room_csv("a,b,c\n").has_error());
}
