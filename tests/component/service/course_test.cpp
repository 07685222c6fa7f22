#include <algorithm>

#include "tests/component/service/shop.hpp"

/// The course of a coat, and what is told on the way.
namespace setwell::service_tests {

namespace {

/// Each verdict in the order it first came, while the air goes on.
std::vector<std::string> course(Shop& shop, const std::string& id, quantity::Span span) {
  std::vector<std::string> seen;
  const auto until = shop.now + span;
  while (shop.now < until) {
    shop.air_for(minutes(30));
    const auto verdict = shop.verdict(id);
    if (seen.empty() || seen.back() != verdict) seen.push_back(verdict);
  }
  return seen;
}

auto times(const std::vector<std::string>& told, const std::string& kind) {
  return std::count(told.begin(), told.end(), kind);
}

}  // namespace

TEST_CASE("A coat goes from wait over touch test and recoat to sanding first, each told once", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  CHECK(shop.verdict("fern-01") == "wait");
  const auto seen = course(shop, "fern-01", hours(40));
  std::vector<std::string> wanted{"wait", "touch-test", "recoat"};
  REQUIRE(seen.size() >= 4);
  CHECK(std::vector<std::string>(seen.begin(), seen.begin() + 3) == wanted);
  CHECK(seen.back() == "sand-first");
  const auto told = shop.told();
  for (const auto* kind : {"touch-test", "safe-to-recoat", "last-start", "sandable"}) {
    INFO(kind);
    CHECK(times(told, kind) == 1);
  }
  CHECK(times(told, "closed") + times(told, "closed-not-sandable") >= 1);
  CHECK(times(told, "closed") <= 1);
  const auto place = [&](const char* kind) { return std::find(told.begin(), told.end(), kind); };
  CHECK(place("touch-test") < place("safe-to-recoat"));
  CHECK(place("safe-to-recoat") < place("last-start"));
  CHECK(place("last-start") < std::min(place("closed"), place("closed-not-sandable")));
  CHECK(std::none_of(told.begin(), told.end(), [](const std::string& kind) { return kind.ends_with('!'); }));
}

TEST_CASE("An opening is told at the first look after the slow clock gets there, never before", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  while (times(shop.told(), "safe-to-recoat") == 0) {
    const auto piece = shop.piece("fern-01");
    INFO(quantity::rfc3339_utc(shop.now));
    CHECK(piece.verdict != "recoat");
    shop.air_for(minutes(10));
    REQUIRE(shop.now < morning() + hours(20));
  }
  const auto piece = shop.piece("fern-01");
  CHECK(piece.verdict == "recoat");
  REQUIRE(piece.recoat.front().from);
  CHECK(at(*piece.recoat.front().from) <= shop.now);
  CHECK(shop.now - at(*piece.recoat.front().from) <= minutes(10));
}

TEST_CASE("While the air is silent nothing opens, and it is said once that the sensor is silent",
          "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(2));
  for (int i = 0; i < 20; ++i) {
    shop.silence_for(hours(1));
    INFO(quantity::rfc3339_utc(shop.now));
    CHECK(shop.verdict("fern-01") != "recoat");
  }
  CHECK(shop.verdict("fern-01") == "no-readings");
  const auto told = shop.told();
  CHECK(times(told, "safe-to-recoat") == 0);
  CHECK(times(told, "sensor-silent") == 2);  // one channel of each quantity
  shop.air_for(hours(1));
  CHECK(times(shop.told(), "sensor-silent") == 2);
  CHECK(shop.verdict("fern-01") != "no-readings");
}

TEST_CASE("A touch by hand opens what the sheet lets a touch open", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  while (shop.verdict("fern-01") == "wait")
    shop.air_for(minutes(10));
  REQUIRE(shop.verdict("fern-01") == "touch-test");
  const auto answer = granted(service::touch(shop.shop(), {"firm", {"fern-01"}, {}}, shop.now));
  REQUIRE(answer.pieces.size() == 1);
  CHECK(answer.pieces.front().verdict == "recoat");
  CHECK(answer.pieces.front().recoat.front().by_touch);
}

}  // namespace setwell::service_tests
