#include <catch2/catch.hpp>

#include "tests/component/mqtt/keepers.hpp"
#include "tests/support/broker.hpp"
#include "tests/support/mqtt_packets.hpp"

using namespace std::chrono_literals;
using namespace setwell;
using namespace setwell::test;

namespace {

/// How often the broker's log says that the client acknowledged something.
int acknowledged(const Broker& broker, const std::string& client_id) {
  const std::string log = broker.log();
  const std::string line = "Received PUBACK from " + client_id;
  int count = 0;
  for (auto at = log.find(line); at != std::string::npos; at = log.find(line, at + 1))
    ++count;
  return count;
}

}  // namespace

TEST_CASE("a message is with the keeper before the broker has its acknowledgement", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  std::atomic<int> acknowledged_inside{-1};
  keeper.meanwhile = [&](const auto&) {
    std::this_thread::sleep_for(300ms);
    acknowledged_inside = acknowledged(broker, "setwelld");
  };
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  PlainClient(broker.port(), "sensor").publish({"bench/air", "21.5"});
  REQUIRE(eventually(5s, [&] { return keeper.count() == 1; }));
  CHECK(acknowledged_inside == 0);
  CHECK(eventually(5s, [&] { return acknowledged(broker, "setwelld") == 1; }));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a message arrives byte for byte with what the broker said of it", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  auto settings = hearing(broker.port(), {"bench/+"});
  settings.connections_so_far = 41;
  mqtt::Source source(settings, {}, keeper);
  PlainClient sensor(broker.port(), "sensor");
  sensor.publish({"bench/old", "kept by the broker", 1, true});
  source.start();
  REQUIRE(hears(source));
  const std::string bytes(
      "\x00\xff\xb0"
      "C",
      4);
  sensor.publish({"bench/air", bytes, 0});
  sensor.publish({"bench/empty", "", 1});
  sensor.publish({"bench/long", std::string(20000, 'x'), 1});
  REQUIRE(eventually(5s, [&] { return keeper.count() == 4; }));
  const auto kept = keeper.kept();
  CHECK(kept[0].retained);
  CHECK(kept[0].connection == 42);
  CHECK(kept[0].since_connected < 5s);
  CHECK(kept[1].payload == bytes);
  CHECK(kept[1].qos == 0);
  CHECK_FALSE(kept[1].retained);
  CHECK(kept[2].payload.empty());
  CHECK(kept[3].payload.size() == decode::kLargestPayload);
  CHECK(kept[3].payload_size == 20000);
  CHECK(kept[3].qos == 1);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("what was sent while nobody listened is delivered on the next start", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  {
    mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
    source.start();
    REQUIRE(hears(source));
    CHECK(source.facts().session_found == false);
    CHECK(source.stop() == mqtt::StopOutcome::disconnected);
  }
  PlainClient sensor(broker.port(), "sensor");
  for (int i = 0; i < 50; ++i)
    sensor.publish({"bench/air", std::to_string(i)});
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  CHECK(eventually(5s, [&] { return keeper.count() == 50; }));
  CHECK(source.facts().session_found == true);
  CHECK(keeper.kept().at(0).session_resumed);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a keeper that waits three seconds delays messages and loses none", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  std::atomic<bool> first{true};
  keeper.meanwhile = [&](const auto&) {
    if (first.exchange(false)) std::this_thread::sleep_for(3s);
  };
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  {
    const Tending tending(source);
    PlainClient sensor(broker.port(), "sensor");
    for (int i = 0; i < 100; ++i)
      sensor.publish({"bench/air", std::to_string(i)});
    REQUIRE(eventually(3s, [&] { return source.facts().keeping > quantity::Span(1500); }));
    CHECK(eventually(10s, [&] { return keeper.count() == 100; }));
  }
  CHECK(source.facts().losses_last_minute == 0);
  CHECK_FALSE(source.facts().keeping);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a filter no longer wanted is unsubscribed and the new list told", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  {
    mqtt::Source source(hearing(broker.port(), {"bench/air", "bench/old"}), {}, keeper);
    source.start();
    REQUIRE(hears(source));
    CHECK(source.stop() == mqtt::StopOutcome::disconnected);
  }
  std::mutex mutex;
  std::vector<std::vector<std::string>> told;
  mqtt::SourceHandlers handlers;
  handlers.filters_held = [&](const std::vector<std::string>& filters) {
    const std::lock_guard lock(mutex);
    told.push_back(filters);
  };
  auto settings = hearing(broker.port(), {"bench/air"});
  settings.held_before = {"bench/old", "bench/air"};
  mqtt::Source source(settings, handlers, keeper);
  source.start();
  REQUIRE(hears(source));
  REQUIRE(eventually(5s, [&] {
    const std::lock_guard lock(mutex);
    return told.size() == 2;
  }));
  CHECK(told[0] == std::vector<std::string>{"bench/air", "bench/old"});
  CHECK(told[1] == std::vector<std::string>{"bench/air"});
  PlainClient sensor(broker.port(), "sensor");
  sensor.publish({"bench/old", "1"});
  sensor.publish({"bench/air", "2"});
  REQUIRE(eventually(5s, [&] { return keeper.has("2"); }));
  CHECK(keeper.count() == 1);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("retained values come once in a connection, however often filters are subscribed", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  PlainClient sensor(broker.port(), "sensor");
  sensor.publish({"bench/air", "19.0", 1, true});
  auto settings = hearing(broker.port(), {"bench/air"});
  settings.pace = kHurried;
  mqtt::Source source(settings, {}, keeper);
  source.start();
  REQUIRE(hears(source));
  const Tending tending(source);
  CHECK(eventually(15s, [&] { return source.facts().repeats > 0; }));
  CHECK(keeper.count() == 1);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}
