#include "tests/component/service/shop.hpp"

/// Striking and replacing entries.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

std::int64_t newest(Shop& shop) {
  return shop.shop().book.entries().back().id.value();
}

std::vector<std::string> kinds(Shop& shop, const std::string& piece) {
  std::vector<std::string> found;
  for (const auto& entry : granted(service::entries(shop.shop(), {piece}, shop.now)).entries)
    found.push_back(entry.kind + (entry.struck ? " struck" : ""));
  return found;
}

}  // namespace

TEST_CASE("Taking a coat back leaves the state as it was before", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01..02");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(9));
  const auto before = shop.state();
  shop.coat("fast-coating-epoxy", {"fern-01"});
  CHECK(shop.state() != before);
  const auto answer = granted(service::undo(shop.shop(), {newest(shop)}, shop.now));
  CHECK(holds(answer.said, "Struck"));
  CHECK(shop.state() == before);
  CHECK(kinds(shop, "fern-01").size() == 4);
}

TEST_CASE("An opening told of a coat that is taken back is told no more", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto coat = newest(shop);
  while (shop.verdict("fern-01") != "recoat")
    shop.air_for(minutes(10));
  shop.tick();
  const auto open = granted(service::notices(shop.shop(), {false}, shop.now)).notices.size();
  CHECK(open > 0);
  granted(service::undo(shop.shop(), {coat}, shop.now));
  shop.tick();
  for (const auto& notice : granted(service::notices(shop.shop(), {false}, shop.now)).notices)
    CHECK(notice.kind != "safe-to-recoat");
}

TEST_CASE("An entry is struck once; a strike itself and one that is not there are refused", "[service]") {
  Shop shop;
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto coat = newest(shop);
  CHECK(refusal(service::undo(shop.shop(), {coat - 1}, shop.now)).kind == ErrorKind::refused);
  granted(service::undo(shop.shop(), {coat}, shop.now));
  CHECK(refusal(service::undo(shop.shop(), {coat}, shop.now)).kind == ErrorKind::refused);
  CHECK(refusal(service::undo(shop.shop(), {newest(shop)}, shop.now)).kind == ErrorKind::refused);
  CHECK(refusal(service::undo(shop.shop(), {999}, shop.now)).kind == ErrorKind::not_found);
  CHECK(refusal(service::amend(shop.shop(), {coat, "10m", {}}, shop.now)).kind == ErrorKind::refused);
}

TEST_CASE("Amending a coat's time gives the clocks of a coat logged then", "[service]") {
  Shop amended;
  Shop right;
  for (auto* shop : {&amended, &right}) {
    shop->air_for(hours(2));
    shop->make("fern-01");
    shop->air_for(hours(4));
  }
  amended.coat("fast-coating-epoxy", {"fern-01"});
  const std::string when = "2031-03-03T11:00:00Z";
  granted(service::amend(amended.shop(), {newest(amended), when, {}}, amended.now));
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = {"fern-01"};
  params.zone = "bench";
  params.at = when;
  granted(service::coat(right.shop(), params, right.now));
  CHECK(amended.state() == right.state());
  CHECK(kinds(amended, "fern-01").size() == 4);
}

TEST_CASE("Amending when a piece was made keeps its entries in its list", "[service]") {
  Shop shop;
  shop.now = morning() + hours(4);
  shop.make("fern-01");
  const auto made = newest(shop);
  shop.coat("fast-coating-epoxy", {"fern-01"});
  granted(service::amend(shop.shop(), {made, "2h", {}}, shop.now));
  CHECK(shop.piece("fern-01").coat == 1);
  CHECK(kinds(shop, "fern-01").size() == 4);
}

TEST_CASE("A piece comes back when its shipping is taken back, unless its name is borne anew", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto before = shop.state();
  granted(service::ship(shop.shop(), {{"fern-01"}, true, {}}, shop.now));
  granted(service::undo(shop.shop(), {newest(shop)}, shop.now));
  CHECK(shop.state() == before);
  granted(service::ship(shop.shop(), {{"fern-01"}, true, {}}, shop.now));
  const auto shipped = newest(shop);
  shop.now += minutes(5);
  shop.make("fern-01");
  CHECK(refusal(service::undo(shop.shop(), {shipped}, shop.now)).kind == ErrorKind::refused);
}

TEST_CASE("A batch that was poured from is not taken back before its coats", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  api::MixedParams mix;
  mix.sheet = "fast-coating-epoxy";
  mix.part_a_g = 20;
  mix.part_b_g = 9;
  mix.zone = "bench";
  granted(service::mixed(shop.shop(), mix, shop.now));
  const auto batch = newest(shop);
  shop.coat("@", {"fern-01"});
  const auto coat = newest(shop);
  CHECK(holds(refusal(service::undo(shop.shop(), {batch}, shop.now)).detail, std::to_string(coat)));
  granted(service::undo(shop.shop(), {coat}, shop.now));
  granted(service::undo(shop.shop(), {batch}, shop.now));
  CHECK(granted(service::batches(shop.shop(), {}, shop.now)).batches.empty());
}

TEST_CASE("A notice that was seen is shown no more among the open ones", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.silence_for(hours(2));
  const auto open = granted(service::notices(shop.shop(), {false}, shop.now)).notices;
  REQUIRE_FALSE(open.empty());
  granted(service::seen(shop.shop(), {open.front().notice}, shop.now));
  const auto left = granted(service::notices(shop.shop(), {false}, shop.now)).notices;
  CHECK(left.size() == open.size() - 1);
  CHECK(refusal(service::seen(shop.shop(), {999}, shop.now)).kind == ErrorKind::not_found);
}

}  // namespace setwell::service_tests
