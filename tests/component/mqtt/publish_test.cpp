#include <cstdlib>
#include <fstream>

#include <catch2/catch.hpp>

#include "sensors/mqtt/sender.hpp"
#include "tests/component/mqtt/keepers.hpp"
#include "tests/support/broker.hpp"

using namespace std::chrono_literals;
using namespace setwell;
using namespace setwell::test;

TEST_CASE("a publication is accepted once the broker has it", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"setwell/#"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  CHECK(source.publish({"setwell/status", "up"}) == mqtt::PublishOutcome::accepted);
  CHECK(eventually(5s, [&] { return keeper.has("up"); }));
  CHECK(source.publish({"setwell/+", "up"}) == mqtt::PublishOutcome::failed);
  CHECK(source.publish({"", "up"}) == mqtt::PublishOutcome::failed);
  source.interrupt();
  CHECK(source.publish({"setwell/status", "up"}) == mqtt::PublishOutcome::not_connected);
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("the sender publishes in order, tends between and tells each outcome", "[mqtt]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"setwell/event"}), {}, keeper);
  source.start();
  REQUIRE(connects(source));
  std::atomic<int> accepted{0};
  mqtt::Sender sender(source, 100, {[&] { source.tend(); }, 200ms});
  for (int i = 0; i < 50; ++i)
    REQUIRE(sender.offer({"setwell/event", std::to_string(i)},
                         [&](auto outcome) { accepted += outcome == mqtt::PublishOutcome::accepted; }));
  CHECK(eventually(10s, [&] { return accepted == 50 && keeper.count() == 50; }));
  for (std::size_t i = 0; i < 50; ++i)
    CHECK(keeper.kept().at(i).payload == std::to_string(i));
  CHECK(eventually(5s, [&] { return source.facts().last_canary.has_value(); }));
  source.interrupt();
  sender.stop();
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

namespace {

/// Blocks until released.
class SlowPublisher : public mqtt::Publisher {
 public:
  std::atomic<bool> released{false};
  mqtt::PublishOutcome publish(const mqtt::Publication&) noexcept override {
    while (!released)
      std::this_thread::sleep_for(1ms);
    return mqtt::PublishOutcome::accepted;
  }
};

}  // namespace

TEST_CASE("a full line is refused and a stopped sender answers what never went out", "[mqtt]") {
  SlowPublisher publisher;
  std::atomic<int> accepted{0};
  std::atomic<int> unsent{0};
  const auto count = [&](mqtt::PublishOutcome outcome) {
    ++(outcome == mqtt::PublishOutcome::accepted ? accepted : unsent);
  };
  mqtt::Sender sender(publisher, 2, {});
  int taken = 0;
  REQUIRE(eventually(5s, [&] {
    taken += sender.offer({"a", "b"}, count);
    return taken == 3;  // one under way, two in the line
  }));
  CHECK_FALSE(sender.offer({"a", "b"}, count));
  std::thread release([&] {
    std::this_thread::sleep_for(50ms);
    publisher.released = true;
  });
  sender.stop();
  release.join();
  CHECK(accepted + unsent == 3);
  CHECK(unsent >= 1);
  CHECK_FALSE(sender.offer({"a", "b"}, count));
}

TEST_CASE("an encrypted connection needs a certificate that is trusted", "[mqtt]") {
  Broker plain;  // its folder holds the certificates
  const std::string folder = plain.folder().string();
  const std::string make =
      "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=127.0.0.1 -addext "
      "subjectAltName=IP:127.0.0.1 -keyout " +
      folder + "/key.pem -out " + folder + "/cert.pem 2>/dev/null";
  if (std::system(make.c_str()) != 0) {
    WARN("skipped: no openssl to make a certificate with");
    return;
  }
  BrokerOptions options;
  options.more_lines = {"certfile " + folder + "/cert.pem", "keyfile " + folder + "/key.pem"};
  Broker broker(options);
  MemoryKeeper keeper;
  auto settings = hearing(broker.port(), {"bench/air"});
  settings.broker.tls = true;
  settings.broker.ca_file = folder + "/cert.pem";
  {
    mqtt::Source source(settings, {}, keeper);
    source.start();
    CHECK(hears(source));
    CHECK(source.stop() == mqtt::StopOutcome::disconnected);
  }
  settings.broker.ca_file.clear();
  static auto* const unused = new MemoryKeeper;
  mqtt::Source distrustful(settings, {}, *unused);
  distrustful.start();
  CHECK(eventually(10s, [&] { return !distrustful.facts().connect_error.empty(); }));
  CHECK_FALSE(distrustful.facts().connected);
}

TEST_CASE("a wrong password is told in words and a right one lets us in", "[mqtt]") {
  Broker plain;
  const std::string file = (plain.folder() / "passwords").string();
  const std::string make = "mosquitto_passwd -b -c " + file + " setwell right 2>/dev/null";
  if (std::system(make.c_str()) != 0) {
    WARN("skipped: no program to make a password file with");
    return;
  }
  BrokerOptions options;
  options.more_lines = {"allow_anonymous false", "password_file " + file};
  Broker broker(options);
  auto settings = hearing(broker.port(), {"bench/air"});
  settings.broker.user = "setwell";
  settings.broker.password = "right";
  MemoryKeeper keeper;
  {
    mqtt::Source source(settings, {}, keeper);
    source.start();
    CHECK(hears(source));
    CHECK(source.stop() == mqtt::StopOutcome::disconnected);
  }
  settings.broker.password = "wrong";
  static auto* const unused = new MemoryKeeper;
  mqtt::Source refused(settings, {}, *unused);
  refused.start();
  REQUIRE(eventually(10s, [&] { return !refused.facts().connect_error.empty(); }));
  CHECK(refused.facts().connect_error.find("broker does not") != std::string::npos);
}
