#include <algorithm>
#include <set>

#include "daemon/api/codec.hpp"
#include "tests/component/service/shop.hpp"

/// Air, readings by hand, history.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

api::ReadParams hand(std::string what) {
  api::ReadParams params;
  params.what = std::move(what);
  return params;
}

constexpr std::string_view kAttic = R"(
[[zone]]
id = "attic"

[[channel]]
zone = "attic"
topic = "shop/attic/humidity"
quantity = "relative-humidity"
format = "json"
path = "/humidity"
time_path = "/at"
time_unit = "iso"
)";

}  // namespace

TEST_CASE("The air shows each zone's last day, hour by hour", "[service]") {
  Shop shop;
  shop.air_for(hours(3));
  const auto answer = granted(service::air(shop.shop(), {}, shop.now));
  REQUIRE(answer.zones.size() == 2);
  CHECK(answer.zones.front().last_day.size() == 24);
  CHECK(answer.zones.front().last_day.back().mean_c);
  CHECK(refusal(service::air(shop.shop(), {"attic"}, shop.now)).kind == ErrorKind::not_found);
  CHECK(granted(service::air(shop.shop(), {"cabinet"}, shop.now)).zones.size() == 1);
}

TEST_CASE("A reading by hand carries the clocks over a silent sensor, for half an hour", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.silence_for(hours(2));
  const auto before = shop.piece("fern-01");
  REQUIRE(before.verdict == "no-readings");
  auto params = hand("bench");
  params.air = "21C";
  params.humidity_pct = 52;
  granted(service::read(shop.shop(), params, shop.now));
  shop.tick();
  const auto answer = granted(service::now_answer(shop.shop(), {}, shop.now));
  CHECK(answer.zones.front().air_c == Approx(21.0));
  CHECK(answer.zones.front().trusted);
  CHECK(shop.verdict("fern-01") != "no-readings");
  CHECK(shop.piece("fern-01").milestones.front().slow.progress > before.milestones.front().slow.progress);
  shop.silence_for(hours(3));
  CHECK(shop.verdict("fern-01") == "no-readings");
}

TEST_CASE("A surface read by hand is the piece's, and wants no air beside it", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(1));
  auto params = hand("fern-01");
  params.surface = "12C";
  granted(service::read(shop.shop(), params, shop.now));
  shop.air_for(minutes(10));
  REQUIRE(shop.piece("fern-01").surface_c);
  CHECK(*shop.piece("fern-01").surface_c == Approx(12.0).margin(1.0));
  params.air = "20C";
  CHECK(refusal(service::read(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
}

TEST_CASE("What no thermometer reads is refused", "[service]") {
  Shop shop;
  const auto refused = [&](auto change) {
    auto params = hand("bench");
    change(params);
    INFO(params.air.value_or("-"));
    CHECK(refusal(service::read(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
  };
  refused([](auto&) {});
  refused([](auto& p) { p.air = "warm"; });
  refused([](auto& p) { p.air = "21K"; });
  refused([](auto& p) { p.air = "nan"; });
  refused([](auto& p) { p.air = "900C"; });
  refused([](auto& p) { p.humidity_pct = 130; });
  refused([](auto& p) {
    p.air = "21C";
    p.error_k = 0;
  });
  CHECK(shop.shop().book.entries().empty());
  auto params = hand("bench");
  params.air = "68 °F";
  granted(service::read(shop.shop(), params, shop.now));
  CHECK(granted(service::now_answer(shop.shop(), {}, shop.now)).zones.front().air_c == Approx(20.0));
}

TEST_CASE("Pages of history hold every reading once, in order, while the ledger is written", "[service]") {
  Shop shop(Keeps::a_file);
  std::vector<decode::RawMessage> messages;
  for (int i = 0; i < 4100; ++i)
    messages.push_back(shop.message(morning() + std::chrono::seconds(15) * i, 20.0 + i % 2 * 0.1, 50.0));
  shop.now = morning() + std::chrono::seconds(15) * 4100;
  shop.take(messages);
  api::HistoryParams params;
  params.zone = "bench";
  std::vector<std::string> times;
  int pages = 0;
  const auto records = shop.records();
  const auto unfinished = shop.shop().ledger.begin();
  do {
    const auto page = granted(granted(service::history(shop.shop(), params, shop.now))(records));
    for (const auto& row : page.rows) {
      CHECK(row.temperature_c.has_value());
      times.push_back(row.time);
    }
    params.after = page.more_after;
    REQUIRE(++pages < 10);
  } while (params.after);
  CHECK(pages == 3);
  CHECK(std::is_sorted(times.begin(), times.end()));
  CHECK(std::set<std::string>(times.begin(), times.end()).size() == times.size());
  CHECK(times.size() + 2 >= 4100);  // the last ones may wait to be judged
  params.from = "2031-03-03T09:00:00Z";
  params.to = "2031-03-03T09:10:00Z";
  const auto few = granted(granted(service::history(shop.shop(), params, shop.now))(records));
  CHECK(few.rows.size() == 41);
  CHECK_FALSE(few.more_after);
  params.from = "2031-03-03T10:00:00Z";
  params.to = "2031-03-03T09:00:00Z";
  CHECK(refusal(service::history(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
}

TEST_CASE("A page of history whose temperature is silent goes by its humidity", "[service]") {
  Shop shop(Keeps::a_file, kAttic);
  std::vector<decode::RawMessage> messages;
  for (int i = 0; i < 2500; ++i) {
    auto message = shop.message(morning() + std::chrono::seconds(15) * i, 20.0, 50.0 + i % 2 * 0.1);
    message.topic = "shop/attic/humidity";
    messages.push_back(std::move(message));
  }
  shop.now = morning() + std::chrono::seconds(15) * 2500;
  shop.take(messages);
  api::HistoryParams params;
  params.zone = "attic";
  const auto first = granted(granted(service::history(shop.shop(), params, shop.now))(shop.records()));
  CHECK(first.rows.size() == 2000);
  REQUIRE(first.more_after);
  params.after = first.more_after;
  const auto rest = granted(granted(service::history(shop.shop(), params, shop.now))(shop.records()));
  CHECK(rest.rows.size() + 2 >= 500);
  CHECK(rest.rows.front().time > first.rows.back().time);
  CHECK_FALSE(rest.more_after);
  CHECK_FALSE(rest.rows.front().temperature_c);
}

TEST_CASE("A sensor stuck, silent or never heard is told apart", "[service]") {
  Shop shop;
  CHECK(holds(granted(service::sensors(shop.shop(), {}, shop.now)).sensors.front().advice, "no message yet"));
  shop.air_for(hours(1));
  auto sensor = granted(service::sensors(shop.shop(), {}, shop.now)).sensors.front();
  CHECK_FALSE(sensor.silent);
  CHECK(sensor.readings == 6);
  shop.silence_for(hours(1));
  sensor = granted(service::sensors(shop.shop(), {}, shop.now)).sensors.front();
  CHECK(sensor.silent);
  CHECK(holds(sensor.advice, "silent"));
}

TEST_CASE("`now` has the keys and units that others rely on", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto now = api::to_object(granted(service::now_answer(shop.shop(), {}, shop.now)));
  CHECK(now.at("version") == 1);
  CHECK(now.at("rehearsal") == false);
  const auto& zone = now.at("zones").at(0).as_object();
  for (const auto* key : {"zone", "air_c", "humidity_pct", "dew_point_c", "age_s", "trusted"})
    CHECK(zone.contains(key));
  const auto& piece = now.at("pieces").at(0).as_object();
  CHECK(piece.at("verdict") == "wait");
  CHECK(piece.at("milestones").at(0).at("slow").as_object().contains("progress"));
  CHECK(piece.at("recoat").at(0).as_object().contains("else"));
  CHECK(quantity::parse_rfc3339(std::string(now.at("time").as_string())) == shop.now);
}

}  // namespace setwell::service_tests
