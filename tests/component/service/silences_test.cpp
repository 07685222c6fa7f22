#include "tests/component/service/shop.hpp"

/// What a silence does to a coat, told beside it.
namespace setwell::service_tests {

namespace {

double window_s(const api::PieceNow& piece) {
  const auto& window = piece.recoat.front();
  return quantity::Seconds(at(*window.until) - at(*window.from)).count();
}

/// A coat made at ten; from eleven to one nothing is heard, or the air goes on.
void two_hours(Shop& shop, bool heard) {
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(1));
  if (heard) {
    shop.air_for(hours(2));
  } else {
    shop.silence_for(hours(2));
  }
  shop.air_for(minutes(10));
  // Times ahead are kept for a quarter of an hour: a fresh start works them out anew.
  shop.restart();
  shop.tick();
}

}  // namespace

TEST_CASE("A silence is told with what it takes from the window, and none is told where all was heard",
          "[service]") {
  Shop all(Keeps::a_file), silent(Keeps::a_file);
  two_hours(all, true);
  two_hours(silent, false);
  const auto whole = all.piece("fern-01"), narrow = silent.piece("fern-01");
  CHECK_FALSE(whole.silences);
  REQUIRE(narrow.silences);
  REQUIRE(narrow.silences->stretches.size() == 1);
  CHECK(at(narrow.silences->stretches[0].from) == morning() + hours(3));
  CHECK(at(narrow.silences->stretches[0].until) == morning() + hours(5) + minutes(10));
  REQUIRE(narrow.silences->narrower_s);
  CHECK(*narrow.silences->narrower_s > 60);
  CHECK(*narrow.silences->opens_later_s > 0);
  CHECK(*narrow.silences->closes_earlier_s > 0);
  // The rest is the forecast: that of a shop which heard less is wider.
  CHECK(*narrow.silences->narrower_s < window_s(whole) - window_s(narrow) + 120);
}

TEST_CASE("A silence still going on is no stretch yet", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(1));
  shop.silence_for(hours(2));
  CHECK_FALSE(shop.piece("fern-01").silences);
}

}  // namespace setwell::service_tests
