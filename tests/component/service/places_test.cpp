#include <algorithm>

#include <fmt/format.h>

#include "tests/component/service/shop.hpp"

/// Where a piece lies in its zone, and the surface that a channel measures there.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

/// A rack with two hooks, the surface measured at the second.
std::string rack_settings() {
  return R"(
[[zone]]
id = "rack"
places = ["hook-1", "hook-2"]
)" + climate_of("rack") +
         channel_of("rack", "shop/rack/hook-2", "surface-temperature", "/temperature") +
         "place = \"hook-2\"\nerror = \"0.3 K\"\n";
}

decode::RawMessage of(Shop& shop, const char* topic, Instant at, double celsius) {
  auto message = shop.message(at, celsius + (quantity::to_ms(at) / 600000 % 2 == 0 ? 0.0 : 0.05), 50.0);
  message.topic = topic;
  return message;
}

/// The rack's air at 22 °C and its second hook at 12 °C, every ten minutes, the hook a few seconds later.
std::vector<decode::RawMessage> rack(Shop& shop, Instant from, Instant until, bool hook = true) {
  std::vector<decode::RawMessage> all;
  for (Instant at = from + minutes(10); at <= until; at += minutes(10)) {
    all.push_back(of(shop, "shop/rack/climate", at, 22));
    if (hook) all.push_back(of(shop, "shop/rack/hook-2", at - std::chrono::seconds(3), 12));
  }
  return all;
}

void rack_for(Shop& shop, quantity::Span span, bool hook = true) {
  const auto until = shop.now + span;
  for (auto& message : rack(shop, shop.now, until, hook)) {
    shop.now = std::max(shop.now, message.received);
    shop.take(std::move(message));
  }
}

void move(Shop& shop, const std::string& piece, const std::string& where) {
  api::MoveParams params;
  params.pieces = {piece};
  params.zone = where;
  granted(service::move(shop.shop(), params, shop.now));
}

void coat_in_rack(Shop& shop, const std::string& piece) {
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = {piece};
  params.zone = "rack";
  granted(service::coat(shop.shop(), params, shop.now));
}

/// A fresh coat at the hook whose surface is measured, the rack's air two hours old.
void lay_at_hook(Shop& shop) {
  rack_for(shop, hours(2));
  shop.make("fern-01");
  move(shop, "fern-01", "rack/hook-2");
  coat_in_rack(shop, "fern-01");
}

double slow(Shop& shop, const std::string& piece) {
  return shop.piece(piece).milestones.front().slow.progress;
}

}  // namespace

TEST_CASE("A piece at a place with a channel takes that surface, others of the zone do not", "[service]") {
  Shop shop(Keeps::nothing, rack_settings());
  rack_for(shop, hours(2));
  shop.make("fern-01..02");
  move(shop, "fern-01", "rack/hook-2");
  coat_in_rack(shop, "fern-01");
  coat_in_rack(shop, "fern-02");
  rack_for(shop, hours(3));
  const auto piece = shop.piece("fern-01");
  CHECK(piece.zone == "rack");
  CHECK(piece.place == "hook-2");
  REQUIRE(piece.surface_c);
  CHECK(*piece.surface_c == Approx(12.0).margin(0.1));
  CHECK(*shop.piece("fern-02").surface_c == Approx(22.0).margin(0.3));
  CHECK_FALSE(shop.piece("fern-02").place);
  CHECK(slow(shop, "fern-01") < 0.7 * slow(shop, "fern-02"));
  // Waited for, not run past: no reading of the hook comes late.
  CHECK_FALSE(piece.recomputing);
}

TEST_CASE("A place's channel that falls silent leaves the piece to the lag behind the air", "[service]") {
  Shop shop(Keeps::nothing, rack_settings());
  lay_at_hook(shop);
  rack_for(shop, hours(1));
  const auto before = slow(shop, "fern-01");
  rack_for(shop, hours(3), false);
  CHECK(*shop.piece("fern-01").surface_c == Approx(22.0).margin(0.3));
  CHECK(slow(shop, "fern-01") > 4 * before);
  CHECK(shop.verdict("fern-01") != "no-readings");
}

TEST_CASE("A surface's readings in any order come to the same bits as in time", "[service]") {
  Shop once(Keeps::a_file, rack_settings()), again(Keeps::a_file, rack_settings());
  lay_at_hook(once);
  lay_at_hook(again);
  const auto until = once.now + hours(20);
  const auto messages = rack(once, once.now, until);
  for (const auto& message : messages) {
    once.now = message.received;
    once.take(message);
  }
  // The hook's gateway was away for hours and tells all of it afterwards, newest first.
  auto hooks = rack(again, again.now, until);
  const auto late = std::stable_partition(hooks.begin(), hooks.end(), [](const auto& message) {
    return message.topic == std::string("shop/rack/climate");
  });
  std::reverse(late, hooks.end());
  auto row = hooks.front().row;
  for (auto& message : hooks) {
    message.row = row++;
    again.now = std::max(again.now, message.received);
    again.take(message);
  }
  // What an outlook of a moment ago still says is kept for a minute.
  once.now = again.now = until + minutes(2);
  once.tick();
  again.tick();
  CHECK(again.state() == once.state());
  CHECK(again.checkpoints() == once.checkpoints());
  const auto before = once.state();
  once.restart();
  once.tick();
  CHECK(once.state() == before);
}

TEST_CASE("A place that a zone does not have is refused with those it has", "[service]") {
  Shop shop(Keeps::nothing, rack_settings());
  shop.make("fern-01");
  api::MoveParams params;
  params.pieces = {"fern-01"};
  params.zone = "rack/hook-9";
  const auto unknown = refusal(service::move(shop.shop(), params, shop.now));
  CHECK(unknown.kind == ErrorKind::not_found);
  CHECK(unknown.detail == "rack has no place “hook-9”; its places: hook-1, hook-2");
  params.zone = "cabinet/1";
  CHECK(holds(refusal(service::move(shop.shop(), params, shop.now)).detail, "no places"));
  params.zone = "attic/1";
  CHECK(holds(refusal(service::move(shop.shop(), params, shop.now)).detail, "no zone"));
  params.zone = "rack/";
  CHECK(holds(refusal(service::move(shop.shop(), params, shop.now)).detail, "its places"));
  params.zone = "bench/3";
  granted(service::move(shop.shop(), params, shop.now));
  CHECK(shop.piece("fern-01").place == "3");
}

}  // namespace setwell::service_tests
