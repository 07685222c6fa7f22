#include <clocale>

#include <catch2/catch.hpp>

#include "sensors/decode/figure.hpp"
#include "tests/unit/decode/messages.hpp"

using namespace setwell;
using namespace setwell::tests;
using decode::Decimal;
using decode::parse_number;

TEST_CASE("A number is one number and nothing else", "[decode]") {
  CHECK(parse_number("21.53") == 21.53);
  CHECK(parse_number(" -1.5e1\r\n") == -15.0);
  CHECK(parse_number("+21.5") == 21.5);
  CHECK(parse_number("0") == 0.0);
  for (const char* wrong : {"", " ", "21.5.3", "21 53", "0x15", "1,016.8", "21,5", "nan", "inf", "1e999",
                            "--1", "+-1", "1e", "e5", "21.5C"}) {
    INFO(wrong);
    CHECK_FALSE(parse_number(wrong));
  }
}

TEST_CASE("A decimal comma is read only where the settings say so, and then a point is none", "[decode]") {
  CHECK(parse_number("21,53", Decimal::comma) == 21.53);
  CHECK(parse_number("21", Decimal::comma) == 21.0);
  CHECK_FALSE(parse_number("1.016,8", Decimal::comma));
  CHECK_FALSE(parse_number("21,5,3", Decimal::comma));
  CHECK(refusal(thermometer(), "21,53") == "not-a-number");
}

TEST_CASE("Numbers read the same under a comma locale", "[decode]") {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  for (const char* locale : {"", "de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8"}) {
    std::setlocale(LC_ALL, locale);
    CHECK(value(thermometer(), "21.53") == 21.53);
    CHECK(value(json_at("/t"), R"({"t":1.5})") == 1.5);
    CHECK(refusal(thermometer(), "500,20") == "not-a-number");
  }
  std::setlocale(LC_ALL, before.c_str());
}

TEST_CASE("A unit behind the number may agree with the channel's, never contradict it", "[decode]") {
  for (const char* text : {"21.5 °C", "21.5C", "21.5°C",
                           "21.5 \xb0"
                           "C",
                           "21.5 degC", "21.5 \u2103"}) {
    INFO(text);
    CHECK(value(thermometer(), text) == 21.5);
  }
  CHECK(refusal(thermometer(), "70.7F") == "unit-conflict");
  CHECK(refusal(thermometer(), "48 %") == "unit-conflict");
  CHECK(value(hygrometer(), "48%RH") == 48.0);
  CHECK(value(hygrometer(), "48 %") == 48.0);
  CHECK(refusal(hygrometer(), "21.5 C") == "unit-conflict");
  CHECK(refusal(thermometer(), "21.5 hPa") == "not-a-number");
  auto fahrenheit = thermometer();
  fahrenheit.unit = decode::Unit::deg_f;
  CHECK(value(fahrenheit, "70.7F") == Approx(21.5).margin(1e-9));
  CHECK(refusal(fahrenheit, "21.5C") == "unit-conflict");
}

TEST_CASE("Words that say nothing was measured are no value", "[decode]") {
  for (const char* text : {"nan", "NaN", "-inf", "Infinity", "null", "unavailable", "UNKNOWN", "none", "--",
                           "offline", "online", "", "  ", "n/a"}) {
    INFO(text);
    CHECK(refusal(thermometer(), text) == "no-value");
  }
  CHECK(refusal(thermometer(), "warm") == "not-a-number");
}

TEST_CASE("What is no text is refused as such, before anything is read from it", "[decode]") {
  const std::string frame("\x08\x67\x00\x01", 4);
  CHECK(refusal(thermometer(), frame) == "not-text");
  CHECK(refusal(json_at("/t"), frame) == "not-text");
  CHECK(refusal(thermometer(), std::string("21.5\0", 5)) == "not-text");
  CHECK(refusal(thermometer(), "21.5\xff") == "not-text");
  CHECK(refusal(json_at("/t"), "{\"t\":21.5,\"n\":\"\xc3\"}") == "not-text");
  CHECK(refusal(thermometer(), "\xed\xa0\x80") == "not-text");
  CHECK(refusal(thermometer(),
                "21.5 \xc2\xb0"
                "C") == "");
}

TEST_CASE("A payload over 16 KiB is too large, one of exactly that is not", "[decode]") {
  const std::string blanks(decode::kLargestPayload - 4, ' ');
  CHECK(value(thermometer(), blanks + "21.5") == 21.5);
  CHECK(refusal(thermometer(), blanks + " 21.5") == "too-large");
  auto cut = message("21.5");
  cut.payload_size = 200000;
  CHECK(refusal(thermometer(), cut) == "too-large");
}

TEST_CASE("One leading byte order mark is stripped, a second one is not", "[decode]") {
  CHECK(value(thermometer(),
              "\xef\xbb\xbf"
              "21.5") == 21.5);
  CHECK(value(json_at("/t"), "\xef\xbb\xbf{\"t\":21.5}") == 21.5);
  CHECK(refusal(json_at("/t"), "\xef\xbb\xbf\xef\xbb\xbf{\"t\":21.5}") == "not-json");
}

TEST_CASE("A scaled integer is scaled before anything else looks at it", "[decode]") {
  auto spec = thermometer();
  spec.scale = 0.01;
  CHECK(value(spec, "2153") == Approx(21.53).margin(1e-9));
  CHECK(refusal(spec, "-12700") == "sentinel");
  CHECK(refusal(thermometer(), "2153") == "out-of-range");
}

TEST_CASE("A pair is split only at the separator that was set", "[decode]") {
  auto spec = thermometer();
  spec.format = decode::Format::pair;
  spec.path = "1";
  CHECK(value(spec, "21.5;48.2") == 21.5);
  auto humidity = hygrometer();
  humidity.format = decode::Format::pair;
  humidity.path = "2";
  CHECK(value(humidity, "21.5; 48.2 %RH\n") == 48.2);
  for (const char* wrong : {"21.5,48.2", "21.5", "1;2;3"})
    CHECK(refusal(spec, wrong) == "not-a-number");
  CHECK(refusal(spec, ";48.2") == "no-value");
  CHECK(refusal(spec, "") == "no-value");
  spec.decimal = Decimal::comma;
  CHECK(value(spec, "21,5;48,2") == 21.5);
  spec.with_humidity = "2";
  CHECK(refusal(spec, "0;0") == "boot-zero");
}

TEST_CASE("A switch understands the usual words, its own words first, and nothing else", "[decode]") {
  auto spec = thermometer();
  spec.quantity = quantity::MeasuredQuantity::running;
  for (const char* on : {"on", "ON", "true", "1", "running", "1.0"})
    CHECK(value(spec, on) == 1.0);
  for (const char* off : {"off", "0", "stopped", "false"})
    CHECK(value(spec, off) == 0.0);
  CHECK(refusal(spec, "2") == "not-a-number");
  CHECK(refusal(spec, "unavailable") == "no-value");
  spec.on_words = {"turning"};
  spec.off_words = {"open"};
  CHECK(value(spec, "Turning") == 1.0);
  CHECK(value(spec, "open") == 0.0);
  CHECK(value(json_at("/on", spec), R"({"on":true})") == 1.0);
  CHECK(value(json_at("/on", spec), R"({"on":0})") == 0.0);
  CHECK(refusal(json_at("/on", spec), R"({"on":7})") == "not-a-number");
}

TEST_CASE("A battery's number is kept as it is", "[decode]") {
  auto spec = json_at("/battery");
  spec.quantity = quantity::MeasuredQuantity::battery;
  CHECK(value(spec, R"({"battery":87})") == 87.0);
  CHECK(value(spec, R"({"battery":2910})") == 2910.0);
  CHECK(value(spec, R"({"battery":"85 %"})") == 85.0);
}
