#include <catch2/catch.hpp>

#include "tests/component/mqtt/keepers.hpp"
#include "tests/support/broker.hpp"
#include "tests/support/mqtt_packets.hpp"
#include "tests/support/tcp_proxy.hpp"

using namespace std::chrono_literals;
using namespace setwell;
using namespace setwell::test;

TEST_CASE("filters are subscribed again after the broker forgot everything", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  broker.kill();
  REQUIRE(eventually(5s, [&] { return !source.facts().connected; }));
  broker.start();
  REQUIRE(eventually(15s, [&] { return source.facts().connected; }));
  CHECK(source.facts().connections == 2);
  CHECK(eventually(5s, [&] {
    PlainClient(broker.port(), "sensor").publish({"bench/air", "21.5"});
    return keeper.has("21.5");
  }));
  CHECK(keeper.kept().at(0).session_resumed);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a broker that comes up after us is found", "[mqtt]") {
  Broker broker;
  broker.stop();
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  REQUIRE(eventually(5s, [&] { return !source.facts().connect_error.empty(); }));
  CHECK(source.publish({"setwell/status", "up"}) == mqtt::PublishOutcome::not_connected);
  CHECK_FALSE(mqtt::answers(hearing(broker.port(), {}).broker));
  broker.start();
  CHECK(mqtt::answers(hearing(broker.port(), {}).broker));
  CHECK(hears(source));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a subscription lost behind our back is back within 15 s and nothing is acknowledged and lost",
          "[mqtt]") {
  Broker broker;
  TcpProxy proxy(broker.port());
  MemoryKeeper keeper;
  mqtt::Source source(hearing(proxy.port(), {"bench/air", "bench/other"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  const Tending tending(source);
  PlainClient sensor(broker.port(), "sensor");
  sensor.publish({"bench/air", "before"});
  REQUIRE(eventually(5s, [&] { return keeper.has("before"); }));

  // The canary's own subscription survives, so only subscribing everything again can mend it.
  proxy.unsubscribe_behind_its_back({"bench/air"});
  REQUIRE(eventually(2s, [&] { return proxy.answered_unsubscribes() == 1; }));
  int number = 0;
  CHECK(eventually(15s, [&] {
    sensor.publish({"bench/air", std::to_string(number++)});
    return keeper.count() > 1;
  }));
  // From the first one heard again on, every number is there.
  const int first = std::stoi(keeper.kept().at(1).payload);
  for (int i = 0; i < 100; ++i)
    sensor.publish({"bench/air", std::to_string(number++)});
  CHECK(eventually(5s, [&] { return keeper.has(std::to_string(number - 1)); }));
  CHECK(keeper.count() == static_cast<std::size_t>(1 + number - first));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a connection on which nothing comes back is told", "[mqtt]") {
  Broker broker;
  TcpProxy proxy(broker.port());
  MemoryKeeper keeper;
  std::atomic<int> deaf{0};
  mqtt::SourceHandlers handlers;
  handlers.leave = [&](mqtt::LeaveReason reason) {
    if (reason == mqtt::LeaveReason::deaf) ++deaf;
  };
  auto settings = hearing(proxy.port(), {"bench/air"});
  settings.pace = kHurried;
  mqtt::Source source(settings, handlers, keeper);
  source.start();
  REQUIRE(hears(source));
  const Tending tending(source);
  proxy.swallow_publications(true);
  const auto began = std::chrono::steady_clock::now();
  CHECK(eventually(12s, [&] { return deaf > 0; }));
  CHECK(std::chrono::steady_clock::now() - began > 4s);
  proxy.swallow_publications(false);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("filters that the broker refuses are named", "[mqtt]") {
  Broker broker;
  TcpProxy proxy(broker.port());
  proxy.refuse_subscriptions(true);
  MemoryKeeper keeper;
  auto settings = hearing(proxy.port(), {"bench/air", "bench/other"});
  settings.pace = kHurried;
  mqtt::Source source(settings, {}, keeper);
  source.start();
  REQUIRE(eventually(5s, [&] { return !source.facts().refused_filters.empty(); }));
  CHECK(source.facts().refused_filters ==
        std::vector<std::string>{"bench/air", "bench/other", "setwell/canary/setwelld"});
  proxy.refuse_subscriptions(false);
  {
    const Tending tending(source);
    CHECK(eventually(15s, [&] { return source.facts().refused_filters.empty(); }));
  }
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE(
    "a frozen broker is noticed within three keepalives, fails publications and does not hold up stopping",
    "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  auto settings = hearing(broker.port(), {"bench/air"});
  settings.broker.keepalive = 5s;
  mqtt::Source source(settings, {}, keeper);
  source.start();
  REQUIRE(hears(source));
  broker.freeze();
  const auto frozen = std::chrono::steady_clock::now();
  CHECK(source.publish({"setwell/status", "up"}) == mqtt::PublishOutcome::failed);
  CHECK(std::chrono::steady_clock::now() - frozen < 11s);
  CHECK(eventually(6s, [&] { return !source.facts().connected; }));
  CHECK(source.publish({"setwell/status", "up"}) == mqtt::PublishOutcome::not_connected);
  const auto stopping = std::chrono::steady_clock::now();
  CHECK(source.stop() == mqtt::StopOutcome::abandoned);
  CHECK(std::chrono::steady_clock::now() - stopping < 5s);
}

TEST_CASE("stopping takes at most five seconds when the broker has just frozen", "[mqtt]") {
  Broker broker;
  // Lives as long as the program: a source that was abandoned may still use it.
  static auto* const keeper = new MemoryKeeper;
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, *keeper);
  source.start();
  REQUIRE(hears(source));
  broker.freeze();
  const auto stopping = std::chrono::steady_clock::now();
  static_cast<void>(source.stop());
  CHECK(std::chrono::steady_clock::now() - stopping < 5s);
}

TEST_CASE("another client with our id is told after five losses within a minute", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  for (int i = 1; i <= 5; ++i) {
    REQUIRE(connects(source));
    CHECK_FALSE(source.facts().id_contested);
    const PlainClient rival(broker.port(), "setwelld", false);
    REQUIRE(eventually(5s, [&] { return source.facts().losses_last_minute == i; }));
  }
  CHECK(source.facts().id_contested);
  REQUIRE(connects(source));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("two hundred starts and stops come and go without a hang", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  PlainClient sensor(broker.port(), "sensor");
  for (int i = 0; i < 200; ++i) {
    mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
    source.start();
    REQUIRE(connects(source));
    sensor.publish({"bench/air", std::to_string(i)});
    REQUIRE(source.stop() == mqtt::StopOutcome::disconnected);
  }
  mqtt::Source source(hearing(broker.port(), {"bench/air"}), {}, keeper);
  source.start();
  REQUIRE(connects(source));
  CHECK(eventually(5s, [&] { return keeper.has("199"); }));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}
