#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests/component/service/shop.hpp"

/// What sensors say of themselves, what is told of them, and settings that change while the daemon runs.
namespace setwell::service_tests {

namespace {

constexpr std::string_view kSecondSensor = R"(
[[channel]]
zone = "cabinet"
topic = "shop/cabinet/air"
quantity = "air-temperature"
format = "number"
settle = "5 min"
availability = { topic = "shop/cabinet/state", on = "online", off = "offline" }

[[channel]]
zone = "cabinet"
topic = "shop/cabinet/battery"
quantity = "battery"
format = "number"
)";

/// Messages without a device time: measured when they come in.
class Cabinet {
 public:
  explicit Cabinet(Keeps keeps = Keeps::nothing) : shop(keeps, kSecondSensor) {}

  void says(const std::string& topic, std::string payload, Instant received) {
    decode::RawMessage made;
    made.row = ++row_;
    made.topic = "shop/cabinet/" + topic;
    made.payload = std::move(payload);
    made.payload_size = made.payload.size();
    made.received = received;
    made.connection = 1;
    made.since_connected = received - morning() + hours(1);
    shop.take(made);
  }
  void air_for(quantity::Span span) {
    for (const auto until = shop.now + span; shop.now < until;) {
      shop.now += minutes(5);
      says("air", fmt::format("{:.2f}", 30 + 0.02 * static_cast<double>(row_ % 5)), shop.now);
    }
  }
  [[nodiscard]] const ledger::ChannelState& state() {
    for (const auto& series : shop.shop().sensors.series()) {
      if (series.spec().topic == "shop/cabinet/air") return series.state;
    }
    FAIL("the cabinet has no channel");
    return shop.shop().sensors.series().front().state;
  }

  Shop shop;

 private:
  std::int64_t row_ = 0;
};

auto times(const std::vector<std::string>& told, const std::string& kind) {
  return std::count(told.begin(), told.end(), kind);
}

/// A coat that needs the cabinet's air.
void coat_in_the_cabinet(Shop& shop) {
  shop.make("fern-01");
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = {"fern-01"};
  params.zone = "cabinet";
  granted(service::coat(shop.shop(), params, shop.now));
}

}  // namespace

TEST_CASE("A good value that a restart of its sensor takes back is the last good one no longer",
          "[service]") {
  Cabinet cabinet;
  cabinet.air_for(hours(1));
  const auto newest = cabinet.shop.now;
  REQUIRE(cabinet.state().last_good == newest);
  cabinet.says("state", "online", newest - minutes(2));
  CHECK(cabinet.state().last_good == newest - minutes(5));
  CHECK(cabinet.state().last_value != std::nullopt);
  CHECK(*cabinet.state().last_change <= *cabinet.state().last_good);
}

TEST_CASE("A sensor that was born before we stopped still settles after we started", "[service]") {
  Cabinet cabinet(Keeps::a_file);
  cabinet.air_for(hours(1));
  const auto before = cabinet.shop.now;
  cabinet.says("state", "online", before + minutes(1));
  cabinet.shop.restart();
  cabinet.air_for(minutes(5));
  CHECK(cabinet.state().last_message == before + minutes(5));
  CHECK(cabinet.state().last_good == before);
  cabinet.air_for(minutes(5));
  CHECK(cabinet.state().last_good == before + minutes(10));
}

TEST_CASE("A sensor that sends what nobody can believe is told apart from a silent one", "[service]") {
  Cabinet cabinet;
  cabinet.air_for(hours(1));
  coat_in_the_cabinet(cabinet.shop);
  for (int i = 0; i < 12; ++i) {
    cabinet.shop.now += minutes(5);
    cabinet.says("air", "998", cabinet.shop.now);
  }
  const auto told = cabinet.shop.told();
  CHECK(times(told, "sensor-implausible") == 1);
  CHECK(times(told, "sensor-silent") == 0);
  cabinet.shop.silence_for(hours(1));
  CHECK(times(cabinet.shop.told(), "sensor-silent") == 1);
}

TEST_CASE("A battery that runs low is told once", "[service]") {
  Cabinet cabinet;
  for (const auto* left : {"40", "9", "8", "7"}) {
    cabinet.shop.now += hours(1);
    cabinet.says("battery", left, cabinet.shop.now);
    cabinet.shop.silence_for(minutes(20));
  }
  CHECK(times(cabinet.shop.told(), "battery-low") == 1);
}

TEST_CASE("A thermometer that stands still while another moves is told of over a coat", "[service]") {
  Cabinet cabinet;
  auto& shop = cabinet.shop;
  std::int64_t row = 1000;
  coat_in_the_cabinet(shop);
  for (int i = 0; i < 14 * 6; ++i) {
    shop.now += minutes(10);
    auto bench = shop.message(shop.now, 18 + 4 * std::sin(i / 12.0), 50);
    bench.row = ++row;
    shop.take(bench);
    decode::RawMessage still = bench;
    still.row = ++row;
    still.topic = "shop/cabinet/air";
    still.payload = "30.5";
    still.payload_size = 4;
    shop.take(still);
  }
  CHECK(times(shop.told(), "sensor-stuck") == 1);
}

TEST_CASE("Humidity is taken at constant vapour pressure where its thermometer has an offset", "[service]") {
  Shop shop;
  shop.replace_setting(
      "path = \"/temperature\"",
      "path = \"/temperature\"\noffset = [{add = \"-4 K\", valid_from = 2031-01-01T00:00:00Z}]");
  shop.reload();
  const auto humidity = [&] {
    return granted(service::now_answer(shop.shop(), {}, shop.now)).zones.front().humidity_pct.value_or(0);
  };
  for (int i = 0; i < 6; ++i) {
    shop.now += minutes(10);
    shop.take(shop.message(shop.now, 26 + 0.1 * (i % 2), 40));
  }
  // 26.0 °C and 40 % are 22.0 °C and about 51 %.
  CHECK(humidity() == Approx(51).margin(0.5));
  const auto before = humidity();
  shop.reload();
  CHECK(humidity() == before);
}

TEST_CASE("Settings read again are in force at once, and clocks are as if they always had been",
          "[service]") {
  const auto run = [](Shop& shop) {
    shop.air_for(hours(1));
    shop.make("fern-01");
    shop.coat("fast-coating-epoxy", {"fern-01"});
    shop.air_for(hours(3), 14.0);
  };
  Shop reloaded;
  run(reloaded);
  const auto before = reloaded.state();
  reloaded.replace_setting("lag = \"15 min\"", "lag = \"45 min\"");
  reloaded.reload();
  reloaded.tick();
  Shop from_the_start;
  from_the_start.replace_setting("lag = \"15 min\"", "lag = \"45 min\"");
  from_the_start.reload();
  run(from_the_start);
  CHECK(reloaded.state() != before);
  CHECK(reloaded.state() == from_the_start.state());
}

}  // namespace setwell::service_tests
