#include <catch2/catch.hpp>

#include "daemon/notices/routes/mqtt.hpp"
#include "tests/component/notices/yard.hpp"

namespace setwell::notices_test {

using mqtt::Publication;
using mqtt::PublishOutcome;
using notices::MqttRoute;
using What = SendResult::What;

namespace {

class Broker : public mqtt::Publisher {
 public:
  PublishOutcome outcome = PublishOutcome::accepted;
  std::vector<Publication> got;
  [[nodiscard]] PublishOutcome publish(const Publication& publication) noexcept override {
    got.push_back(publication);
    return outcome;
  }
};

}  // namespace

TEST_CASE("an event goes to the event topic and is not retained") {
  Broker broker;
  MqttRoute route("shop/setwell", &broker);
  CHECK(route.send(delivery("{}")).what == What::sent);
  REQUIRE(broker.got.size() == 1);
  CHECK(broker.got[0].topic == "shop/setwell/event");
  CHECK(broker.got[0].payload == "{}");
  CHECK_FALSE(broker.got[0].retained);
}

TEST_CASE("the state of a piece is retained under its own topic") {
  Broker broker;
  MqttRoute route("setwell", &broker);
  CHECK(route.send(delivery("{\"piece\":1}", "piece/fern-07")).what == What::sent);
  REQUIRE(broker.got.size() == 1);
  CHECK(broker.got[0].topic == "setwell/piece/fern-07");
  CHECK(broker.got[0].payload == "{\"piece\":1}");
  CHECK(broker.got[0].retained);
}

TEST_CASE("a piece whose id cannot be part of a topic is given up, not published elsewhere") {
  Broker broker;
  MqttRoute route("setwell", &broker);
  for (const std::string key : {"piece/", "piece/+", "piece/a#", "piece/a/b"}) {
    CAPTURE(key);
    CHECK(route.send(delivery("x", key)).what == What::final);
  }
  CHECK(route.send(delivery("x", std::string("piece/a\0b", 9))).what == What::final);
  CHECK(broker.got.empty());
}

TEST_CASE("without a connection a broker is away; an answer that does not come is a failure") {
  Broker broker;
  MqttRoute route("setwell", &broker);
  broker.outcome = PublishOutcome::not_connected;
  CHECK(route.send(delivery("x")).what == What::away);
  broker.outcome = PublishOutcome::failed;
  CHECK(route.send(delivery("x")).what == What::failed);
  MqttRoute nowhere("setwell", nullptr);
  CHECK(nowhere.send(delivery("x")).what == What::away);
}

TEST_CASE("a cancelled broker route publishes nothing more") {
  Broker broker;
  MqttRoute route("setwell", &broker);
  route.cancel();
  CHECK(route.send(delivery("x")).what == What::away);
  CHECK(broker.got.empty());
}

}  // namespace setwell::notices_test
