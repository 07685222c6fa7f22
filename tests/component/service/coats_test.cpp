#include <algorithm>
#include <set>

#include "tests/component/service/shop.hpp"

/// Coats and batches.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

api::CoatParams coat(std::string what, std::vector<std::string> pieces) {
  api::CoatParams params;
  params.what = std::move(what);
  params.pieces = std::move(pieces);
  params.zone = "bench";
  return params;
}

api::MixedParams mix(double a, double b) {
  api::MixedParams params;
  params.sheet = "fast-coating-epoxy";
  params.part_a_g = a;
  params.part_b_g = b;
  params.zone = "bench";
  return params;
}

const core::CoatMade& made(Shop& shop, const std::string& piece, std::size_t index) {
  return shop.shop().book.workbook().in_progress(quantity::PieceId(piece))->coats.at(index).made;
}

}  // namespace

TEST_CASE("A coat by its sheet's beginning answers with its number, window and cautions", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  const auto answer = granted(service::coat(shop.shop(), coat("fast", {"fern-01"}), shop.now));
  REQUIRE(answer.logged.size() == 1);
  CHECK(answer.logged.front().coat == 1);
  CHECK(answer.pieces.front().sheet == "fast-coating-epoxy");
  REQUIRE_FALSE(answer.pieces.front().recoat.empty());
  CHECK(answer.pieces.front().recoat.front().from);
  CHECK(answer.pieces.front().recoat.front().until);
  CHECK_FALSE(answer.cautions.empty());
  CHECK(refusal(service::coat(shop.shop(), coat("mystery", {"fern-01"}), shop.now)).kind ==
        ErrorKind::not_found);
}

TEST_CASE("The zone must be said where the piece has none yet, and is its own afterwards", "[service]") {
  Shop shop;
  shop.make("fern-01");
  auto params = coat("fast", {"fern-01"});
  params.zone.reset();
  const auto error = refusal(service::coat(shop.shop(), params, shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "bench, cabinet"));
  shop.coat("fast", {"fern-01"});
  shop.now += hours(6);
  granted(service::coat(shop.shop(), params, shop.now));
  CHECK(shop.piece("fern-01").zone == "bench");
}

TEST_CASE("@ is the only open batch; of two, their names are asked back", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  CHECK(refusal(service::coat(shop.shop(), coat("@", {"fern-01"}), shop.now)).kind == ErrorKind::not_found);
  granted(service::mixed(shop.shop(), mix(20, 9), shop.now));
  shop.now += minutes(2);
  granted(service::coat(shop.shop(), coat("@", {"fern-01"}), shop.now));
  CHECK(made(shop, "fern-01", 0).batch->text() == "b0303-1");
  granted(service::mixed(shop.shop(), mix(20, 9), shop.now));
  const auto error = refusal(service::coat(shop.shop(), coat("@", {"fern-01"}), shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "b0303-1"));
  CHECK(holds(error.detail, "b0303-2"));
  granted(service::coat(shop.shop(), coat("b0303-2", {"fern-01"}), shop.now));
  CHECK(made(shop, "fern-01", 1).sheet.text() == "fast-coating-epoxy");
  const auto batches = granted(service::batches(shop.shop(), {}, shop.now));
  REQUIRE(batches.batches.size() == 2);
  CHECK(batches.batches.front().open);
  CHECK(batches.batches.front().left_s.fast);
}

TEST_CASE("Over a span six pieces lie evenly, each with its own grams", "[service]") {
  Shop shop;
  shop.make("fern-01..06");
  shop.now = at("2031-03-03T10:30:00Z");
  auto params = coat("fast", {"fern-01=12.5", "fern-02..06"});
  params.at = "10:00..10:25";
  granted(service::coat(shop.shop(), params, shop.now));
  for (int i = 0; i < 6; ++i) {
    const auto& each = made(shop, "fern-0" + std::to_string(i + 1), 0);
    CHECK(each.first_pass == at("2031-03-03T10:00:00Z") + minutes(5 * i));
    CHECK(each.first_pass == each.last_pass);
  }
  CHECK(made(shop, "fern-01", 0).grams == quantity::Grams::from(12.5));
  CHECK_FALSE(made(shop, "fern-02", 0).grams);
  CHECK(refusal(service::coat(shop.shop(), coat("fast", {"fern-01=much"}), shop.now)).kind ==
        ErrorKind::invalid);
  CHECK(refusal(service::coat(shop.shop(), coat("fast", {"fern-01..02=3"}), shop.now)).kind ==
        ErrorKind::invalid);
}

TEST_CASE("Several passes take the whole span of each piece", "[service]") {
  Shop shop;
  shop.make("fern-01..02");
  shop.now = at("2031-03-03T10:30:00Z");
  auto params = coat("clear-sealer", {"fern-01..02"});
  params.at = "10:00..10:20";
  params.passes = 3;
  granted(service::coat(shop.shop(), params, shop.now));
  for (const auto* piece : {"fern-01", "fern-02"}) {
    CHECK(made(shop, piece, 0).first_pass == at("2031-03-03T10:00:00Z"));
    CHECK(made(shop, piece, 0).last_pass == at("2031-03-03T10:20:00Z"));
  }
  params.passes = 0;
  CHECK(refusal(service::coat(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
}

TEST_CASE("A coat logged late before another one renumbers them and covers", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  shop.air_for(hours(9));
  shop.coat("fast", {"fern-01"});
  CHECK(shop.piece("fern-01").coat == 1);
  auto params = coat("fast", {"fern-01"});
  params.at = "2031-03-03T10:00:00Z";
  const auto answer = granted(service::coat(shop.shop(), params, shop.now));
  CHECK(answer.logged.front().coat == 1);
  CHECK(shop.piece("fern-01").coat == 2);
  const auto shown = granted(service::piece_show(shop.shop(), {"fern-01"}, shop.now));
  REQUIRE(shown.coats.size() == 2);
  CHECK(shown.coats.front().coat == 1);
}

TEST_CASE("Coating over an unready coat is warned of, and logged", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  shop.coat("fast", {"fern-01"});
  shop.air_for(hours(1));
  const auto answer = granted(service::coat(shop.shop(), coat("fast", {"fern-01"}), shop.now));
  CHECK(holds(answer.said, "not surely ready"));
  CHECK(answer.logged.front().coat == 2);
}

TEST_CASE("Figures out of range are refused and nothing is logged", "[service]") {
  Shop shop;
  shop.make("fern-01");
  const auto before = shop.shop().book.entries().size();
  const auto refused = [&](auto change) {
    auto params = coat("fast", {"fern-01"});
    change(params);
    CHECK(refusal(service::coat(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
  };
  refused([](auto& p) { p.film_um = 0; });
  refused([](auto& p) { p.film_um = 30000; });
  refused([](auto& p) { p.load = "sand"; });
  refused([](auto& p) { p.piece_from = "cold"; });
  refused([](auto& p) { p.resin_temperature = "2200C"; });
  refused([](auto& p) { p.lamp_min = -1; });
  refused([](auto& p) { p.at = "half past"; });
  CHECK(shop.shop().book.entries().size() == before);
}

TEST_CASE("A mix off its ratio is logged and said to be off", "[service]") {
  Shop shop;
  const auto good = granted(service::mixed(shop.shop(), mix(200, 90), shop.now));
  CHECK(holds(good.said, "b0303-1"));
  CHECK_FALSE(good.cautions.empty());
  granted(service::mixed(shop.shop(), mix(200, 60), shop.now));
  const auto batches = granted(service::batches(shop.shop(), {}, shop.now)).batches;
  CHECK(batches.at(1).ratio == "ok");
  CHECK(batches.at(0).ratio == "off");
  CHECK_FALSE(batches.at(0).remark.empty());
  CHECK(refusal(service::mixed(shop.shop(), mix(0, 9), shop.now)).kind == ErrorKind::invalid);
  auto params = mix(20, 9);
  params.sheet = "clear-sealer";
  CHECK(refusal(service::mixed(shop.shop(), params, shop.now)).kind == ErrorKind::refused);
  params = mix(20, 9);
  params.pot = "bucket";
  CHECK(refusal(service::mixed(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
}

TEST_CASE("The end of a pot life is told once, early enough to act", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  granted(service::mixed(shop.shop(), mix(20, 9), shop.now));
  for (int i = 0; i < 60; ++i) {
    shop.now += minutes(1);
    shop.tick();
  }
  const auto told = shop.told();
  CHECK(std::multiset<std::string>(told.begin(), told.end()).count("pot-life-ending") == 1);
  CHECK_FALSE(granted(service::batches(shop.shop(), {}, shop.now)).batches.front().open);
}

TEST_CASE("Opening a can wants its lot and a part there is", "[service]") {
  Shop shop;
  granted(service::opened(shop.shop(), {"fast-coating-epoxy", "b", "L7", {}}, shop.now));
  CHECK(refusal(service::opened(shop.shop(), {"fast", "c", "L7", {}}, shop.now)).kind == ErrorKind::invalid);
  CHECK(refusal(service::opened(shop.shop(), {"fast", "b", "", {}}, shop.now)).kind == ErrorKind::invalid);
}

TEST_CASE("Both windows about a gap are told, each once, and the early one is not taken back",
          "[service][notices]") {
  Shop shop;
  shop.air_for(hours(2), 21.0, 50.0);
  shop.make("fern-01");
  shop.coat("spray-enamel", {"fern-01"});
  shop.air_for(hours(3), 21.0, 50.0);
  const auto early = shop.told();
  CHECK(std::count(early.begin(), early.end(), "safe-to-recoat") == 1);
  CHECK(std::count(early.begin(), early.end(), "gap-begins") == 1);
  shop.air_for(hours(24 * 4), 21.0, 50.0);
  const auto late = shop.told();
  CHECK(shop.verdict("fern-01") == "recoat");
  CHECK(std::count(late.begin(), late.end(), "safe-to-recoat") == 2);
  CHECK(std::count(late.begin(), late.end(), "safe-to-recoat!") == 0);
}

}  // namespace setwell::service_tests
