#include <catch2/catch.hpp>

#include "tests/unit/decode/messages.hpp"
#include "tests/unit/quantity/berlin.hpp"

using namespace setwell;
using namespace setwell::tests;
using decode::TimeQuality;
using decode::TimeUnit;

namespace {

decode::ChannelSpec timed(TimeUnit unit) {
  auto spec = json_at("/t");
  spec.time_path = "/ts";
  spec.time_unit = unit;
  return spec;
}

decode::DecodedValue read(TimeUnit unit, const std::string& ts) {
  return taken(timed(unit), message("{\"t\":21.5,\"ts\":" + ts + "}"));
}

decode::DecodedValue read_local(const std::string& local, const std::string& received) {
  auto spec = timed(TimeUnit::iso);
  spec.time_zone = berlin();
  return taken(spec, message("{\"t\":21.5,\"ts\":\"" + local + "\"}", received));
}

}  // namespace

TEST_CASE("Seconds and milliseconds give one moment, each under its own unit", "[decode]") {
  CHECK(read(TimeUnit::seconds, "1930384740").measured == at("2031-03-04T09:59:00Z"));
  CHECK(read(TimeUnit::seconds, "\"1930384740.5\"").measured == at("2031-03-04T09:59:00.500Z"));
  CHECK(read(TimeUnit::milliseconds, "1930384740500").measured == at("2031-03-04T09:59:00.500Z"));
  CHECK(read(TimeUnit::seconds, "1930384740").by_device);
}

TEST_CASE("A time in another unit, unset, ahead or unreadable leaves the receive time, marked bad",
          "[decode]") {
  const auto bad = [](TimeUnit unit, const char* ts) {
    INFO(ts);
    const auto value = read(unit, ts);
    CHECK(value.time == TimeQuality::bad);
    CHECK(value.measured == at("2031-03-04T10:00:00Z"));
    CHECK_FALSE(value.by_device);
  };
  bad(TimeUnit::seconds, "1930384740000");
  bad(TimeUnit::milliseconds, "1930384740");
  bad(TimeUnit::seconds, "12");
  bad(TimeUnit::seconds, "1609459200");  // 2021: a build date
  bad(TimeUnit::seconds, "1930392000");
  bad(TimeUnit::seconds, "\"x\"");
  bad(TimeUnit::seconds, "true");
  bad(TimeUnit::iso, "\"x\"");
  bad(TimeUnit::iso, "1930384740");
  bad(TimeUnit::iso, "\"1970-01-01T00:00:12Z\"");
  bad(TimeUnit::iso, "\"2031-03-04T09:59:00\"");  // no zone is set
}

TEST_CASE("A device may be two minutes ahead, and any time behind", "[decode]") {
  CHECK(read(TimeUnit::iso, "\"2031-03-04T10:02:00Z\"").time == TimeQuality::certain);
  CHECK(read(TimeUnit::iso, "\"2031-03-04T10:02:00.001Z\"").time == TimeQuality::bad);
  CHECK(read(TimeUnit::iso, "\"2031-02-04T10:00:00+0100\"").measured == at("2031-02-04T09:00:00Z"));
}

TEST_CASE("A local time in the repeated hour goes by nearness to the receive time", "[decode]") {
  CHECK(read_local("2031-10-26T02:30:00", "2031-10-26T01:30:05Z").measured == at("2031-10-26T01:30:00Z"));
  CHECK(read_local("2031-10-26T02:30:00", "2031-10-26T00:30:05Z").measured == at("2031-10-26T00:30:00Z"));
  CHECK(read_local("2031-10-26T02:30:00", "2031-10-26T00:58:00Z").measured == at("2031-10-26T00:30:00Z"));
  CHECK(read_local("2031-10-26T02:30:00", "2031-10-26T01:30:05Z").time == TimeQuality::certain);
  const auto late = read_local("2031-10-26T02:30:00", "2031-10-26T09:00:00Z");
  CHECK(late.time == TimeQuality::uncertain);
}

TEST_CASE("A local time in the skipped hour goes by nearness too", "[decode]") {
  CHECK(read_local("2031-03-30T02:30:00", "2031-03-30T01:30:05Z").measured == at("2031-03-30T01:30:00Z"));
  CHECK(read_local("2031-03-30T02:30:00", "2031-03-30T00:30:05Z").measured == at("2031-03-30T00:30:00Z"));
  CHECK(read_local("2031-07-01T12:00:00", "2031-07-01T10:00:05Z").measured == at("2031-07-01T10:00:00Z"));
}

TEST_CASE("Without a device time the receive time counts, uncertain after a resumed connection", "[decode]") {
  auto raw = message("21.5");
  CHECK(taken(thermometer(), raw).time == TimeQuality::certain);
  raw.session_resumed = true;
  raw.since_connected = std::chrono::seconds(5);
  CHECK(taken(thermometer(), raw).time == TimeQuality::uncertain);
  raw.since_connected = decode::kQueuedWithin;
  CHECK(taken(thermometer(), raw).time == TimeQuality::certain);
  auto with = message(R"({"t":21.5,"ts":1930384740})");
  with.session_resumed = true;
  CHECK(taken(timed(TimeUnit::seconds), with).time == TimeQuality::certain);
  auto without = message(R"({"t":21.5})");
  without.session_resumed = true;
  CHECK(taken(timed(TimeUnit::seconds), without).time == TimeQuality::uncertain);
}

TEST_CASE("A rehearsal finds the newest device time, however far it is from the receive time", "[decode]") {
  const auto ahead = message(R"({"t":21.5,"ts":1930392000})");
  CHECK(decode::device_time_of(timed(TimeUnit::seconds), ahead) == at("2031-03-04T12:00:00Z"));
  CHECK_FALSE(decode::device_time_of(timed(TimeUnit::seconds), message(R"({"t":21.5,"ts":12})")));
  CHECK_FALSE(decode::device_time_of(thermometer(), message("21.5")));
  auto pack = thermometer();
  pack.format = decode::Format::senml;
  pack.path = "t";
  CHECK(decode::device_time_of(
            pack,
            message(R"([{"n":"t","bt":1930384800,"v":1},{"n":"t","t":60,"v":2},{"n":"t","t":-5,"v":2}])")) ==
        at("2031-03-04T10:01:00Z"));
}
