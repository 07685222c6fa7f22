#include <catch2/catch.hpp>

#include "tests/component/mqtt/keepers.hpp"
#include "tests/support/broker.hpp"
#include "tests/support/mqtt_packets.hpp"

using namespace std::chrono_literals;
using namespace setwell;
using namespace setwell::test;

// A program of its own: what is abandoned holds the library's lock until the process ends.

TEST_CASE("stopping takes at most five seconds while the keeper blocks, and nothing more is acknowledged",
          "[mqtt]") {
  Broker broker;
  static auto* const keeper = new MemoryKeeper;
  static std::atomic<bool> released{false};
  keeper->meanwhile = [](const auto&) {
    while (!released)
      std::this_thread::sleep_for(10ms);
  };
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, *keeper);
  source.start();
  REQUIRE(hears(source));
  PlainClient sensor(broker.port(), "sensor");
  sensor.publish({"bench/air", "1"});
  sensor.publish({"bench/air", "2"});
  REQUIRE(eventually(5s, [&] { return source.facts().keeping > quantity::Span(1200); }));
  const auto stopping = std::chrono::steady_clock::now();
  CHECK(source.stop() == mqtt::StopOutcome::abandoned);
  CHECK(std::chrono::steady_clock::now() - stopping < 5s);
  released = true;
  REQUIRE(eventually(5s, [&] { return keeper->count() == 1; }));
  CHECK_FALSE(eventually(500ms, [&] { return keeper->count() == 2; }));
}
