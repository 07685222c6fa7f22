#include "sensors/room/payloads.hpp"

#include <catch2/catch.hpp>

#include "sensors/decode/formats/room_csv.hpp"

using namespace setwell;
using namespace setwell::room;
using namespace std::chrono_literals;

namespace {

const quantity::Instant kAt = std::chrono::sys_days(std::chrono::year(2031) / 3 / 4) + 10h;
const SensorMessage kMessage{kAt, kAt + 2s, 18.42, 61.5, false};

}  // namespace

TEST_CASE("one topic gets both quantities with the device's time", "[payloads]") {
  const auto all = payloads_of(kMessage, {"workshop/bench", "", ""});
  REQUIRE(all.size() == 1);
  CHECK(all[0].topic == "workshop/bench");
  CHECK(all[0].payload == R"({"time":"2031-03-04T10:00:02Z","temperature":18.42,"humidity":61.5})");
  CHECK_FALSE(all[0].retained);
}

TEST_CASE("topics of their own get one quantity each", "[payloads]") {
  const auto all = payloads_of(kMessage, {"", "t", "h"});
  REQUIRE(all.size() == 2);
  CHECK(all[0].payload == R"({"time":"2031-03-04T10:00:02Z","temperature":18.42})");
  CHECK(all[1].payload == R"({"time":"2031-03-04T10:00:02Z","humidity":61.5})");
  CHECK(payloads_of(kMessage, {}).empty());
}

TEST_CASE("a printed room reads back as it was", "[payloads]") {
  const auto rows = decode::parse_room_csv("time,temperature_c,humidity_pct\n" + csv_line(kMessage));
  REQUIRE(rows.has_value());
  REQUIRE(rows->size() == 1);
  CHECK(rows->at(0).at == kAt);
  CHECK(rows->at(0).temperature_c == 18.42);
  CHECK(rows->at(0).humidity_pct == 61.5);
}
