#include <catch2/catch.hpp>

#include "daemon/settings/settings_reader.hpp"
#include "tests/unit/settings/zones.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using decode::Format;
using decode::Unit;
using quantity::MeasuredQuantity;

const std::string kZone = "[[zone]]\nid = \"bench\"\nplaces = 2\n[[channel]]\nzone = \"bench\"\n";

decode::ChannelSpec read(const std::string& text) {
  auto reading = settings::read_settings(kZone + text, "test.toml", expectations::two_zones);
  REQUIRE(expectations::described(reading.faults).empty());
  return reading.settings->channels.at(0);
}

TEST_CASE("A JSON channel keeps every pointer and where its time and unit stand", "[channels]") {
  const auto spec = read(R"(topic = "shop/bench"
quantity = "air-temperature"
format = "json"
path = "/a~1b/t"
select = {path = "/id", is = 7}
probe = "p1"
seq_path = "/seq"
uptime_path = "/up"
availability = {topic = "shop/state", on = "yes", off = "no"}
sentinels = [81, 12.5]
with_humidity = "/h"
unit = "degF"
unit_path = "/unit"
scale = 0.01
time_path = "/at"
time_unit = "iso"
time_zone = "Europe/Vienna"
range = [-10, 60.5]
settle = "0 s"
silent_after = "90 s"
stuck_after = "2 d"
error = "0.3 K"
offset = [{add = "-0.4 K", valid_from = 2031-01-01T00:00:00Z}, {add = "0.1 K", valid_from = "2031-02-01T01:00:00+01:00"}]
)");
  CHECK(spec.zone.text() == "bench");
  CHECK(spec.topic == "shop/bench");
  CHECK(spec.format == Format::json);
  CHECK(spec.path == "/a~1b/t");
  REQUIRE(spec.select);
  CHECK(spec.select->path == "/id");
  CHECK(spec.select->is == "7");
  CHECK(spec.probe == "p1");
  CHECK(spec.seq_path == "/seq");
  CHECK(spec.uptime_path == "/up");
  CHECK(spec.availability->topic == "shop/state");
  CHECK(spec.availability->off == "no");
  CHECK(spec.sentinels == std::vector<double>{81.0, 12.5});
  CHECK(spec.with_humidity == "/h");
  CHECK(spec.unit == Unit::deg_f);
  CHECK(spec.unit_path == "/unit");
  CHECK(spec.scale == 0.01);
  CHECK(spec.time_path == "/at");
  CHECK(spec.time_unit == decode::TimeUnit::iso);
  CHECK(spec.time_zone->name() == "Europe/Vienna");
  CHECK(spec.range->low == -10.0);
  CHECK(spec.range->high == 60.5);
  CHECK(spec.settle == quantity::Span(0));
  CHECK(spec.silent_after == std::chrono::seconds(90));
  CHECK(spec.stuck_after == std::chrono::hours(48));
  CHECK(spec.error == 0.3);
  REQUIRE(spec.offset.size() == 2);
  CHECK(spec.offset[0].add == -0.4);
  CHECK(spec.offset[1].valid_from == quantity::parse_rfc3339("2031-02-01T00:00:00Z"));
}

TEST_CASE("A calibration without a moment holds for every reading", "[channels]") {
  const auto spec = read(
      "topic = \"t\"\nquantity = \"relative-humidity\"\nformat = \"number\"\noffset = \"-2 %\"\nerror = \"3 "
      "%\"\n");
  CHECK(decode::offset_at(spec, quantity::instant_from_ms(0)) == -2.0);
  CHECK(decode::error_of(spec) == 3.0);
}

TEST_CASE("A pair names its number and its separator", "[channels]") {
  const auto spec = read(
      "topic = \"t\"\nquantity = \"relative-humidity\"\nformat = \"pair\"\npath = \"2\"\nseparator = "
      "\"/\"\nunit = "
      "\"ratio\"\ndecimal = \"comma\"\n");
  CHECK(spec.format == Format::pair);
  CHECK(spec.path == "2");
  CHECK(spec.separator == "/");
  CHECK(spec.unit == Unit::ratio);
  CHECK(spec.decimal == decode::Decimal::comma);
}

TEST_CASE("SenML takes the resolved name as it is", "[channels]") {
  const auto spec =
      read("topic = \"t\"\nquantity = \"air-temperature\"\nformat = \"senml\"\npath = \"urn:dev:x:t\"\n");
  CHECK(spec.format == Format::senml);
  CHECK(spec.path == "urn:dev:x:t");
}

TEST_CASE("A surface temperature stands at one of the zone's places", "[channels]") {
  const auto spec =
      read("topic = \"t\"\nquantity = \"surface-temperature\"\nformat = \"number\"\nplace = \"2\"\n");
  CHECK(spec.quantity == MeasuredQuantity::surface_temperature);
  CHECK(spec.place == "2");
}

TEST_CASE("On and off are one word or several", "[channels]") {
  const auto spec = read(
      "topic = \"t\"\nquantity = \"door\"\nformat = \"number\"\non = \"ajar\"\noff = [\"shut\", \"to\"]\n");
  CHECK(spec.on_words == std::vector<std::string>{"ajar"});
  CHECK(spec.off_words == std::vector<std::string>{"shut", "to"});
}

TEST_CASE("Two gateways may hear one probe on two topics", "[channels]") {
  const auto reading = settings::read_settings(
      kZone +
          "topic = \"g1/p\"\nquantity = \"air-temperature\"\nformat = \"number\"\nprobe = "
          "\"p\"\n[[channel]]\nzone = "
          "\"bench\"\ntopic = \"g2/p\"\nquantity = \"air-temperature\"\nformat = \"number\"\nprobe = \"p\"\n",
      "test.toml", expectations::two_zones);
  REQUIRE(reading.settings);
  CHECK(decode::id_of(reading.settings->channels[0]) == decode::id_of(reading.settings->channels[1]));
}

}  // namespace
