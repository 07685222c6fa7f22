#include <algorithm>

#include "tests/component/service/shop.hpp"

/// Steps and touches.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

api::StepParams step(std::string word, std::vector<std::string> pieces) {
  api::StepParams params;
  params.step = std::move(word);
  params.pieces = std::move(pieces);
  return params;
}

void begin(Shop& shop) {
  shop.air_for(hours(1));
  shop.make("fern-01..02");
  shop.coat("fast-coating-epoxy", {"fern-01"});
}

}  // namespace

TEST_CASE("Sanding an amine epoxy without a wash asks; a wash or a plain answer does", "[service]") {
  Shop shop;
  begin(shop);
  shop.air_for(hours(40));
  const auto error = refusal(service::step(shop.shop(), step("sanded", {"fern-01"}), shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "--unwashed"));
  auto unwashed = step("sanded", {"fern-02"});
  granted(service::step(shop.shop(), unwashed, shop.now));  // bare: nothing to wash
  auto washed = step("washed", {"fern-01"});
  washed.with = "water";
  granted(service::step(shop.shop(), washed, shop.now));
  shop.air_for(minutes(10));
  const auto answer = granted(service::step(shop.shop(), step("sanded", {"fern-01"}), shop.now));
  CHECK_FALSE(answer.cautions.empty());
  CHECK(shop.verdict("fern-01") == "recoat");
  CHECK(shop.piece("fern-01").next.starts_with("wipe, let the wipe dry, recoat with "));
  CHECK(holds(shop.piece("fern-01").remark, "no wipe is logged"));
  granted(service::step(shop.shop(), step("wiped", {"fern-01"}), shop.now));
  CHECK(shop.piece("fern-01").next.starts_with("recoat with "));
  CHECK_FALSE(holds(shop.piece("fern-01").remark, "wipe"));
  shop.air_for(hours(25));
  CHECK(shop.verdict("fern-01") != "recoat");
}

TEST_CASE("An open coat is no recoat in air that its next one may not go on in, and is again in fit air",
          "[service]") {
  Shop shop;
  begin(shop);
  shop.air_for(hours(9));
  REQUIRE(shop.verdict("fern-01") == "recoat");
  shop.air_for(hours(1), 14.0);
  const auto cold = shop.piece("fern-01");
  CHECK(cold.verdict == "wait");
  CHECK(holds(cold.next, "wait for air within the sheet's limits"));
  REQUIRE(cold.outside_limits.size() == 1);
  CHECK(cold.outside_limits[0].what == "air below the limit for the next coat");
  CHECK(cold.outside_limits[0].next_coat);
  CHECK(cold.outside_limits[0].limit == 15);
  CHECK(cold.outside_limits[0].value == 14);
  shop.air_for(hours(1), 20.0);
  CHECK(shop.verdict("fern-01") == "recoat");
  CHECK(shop.piece("fern-01").outside_limits.empty());
  const auto told = shop.told();
  CHECK(std::count(told.begin(), told.end(), "safe-to-recoat") == 1);
}

TEST_CASE("A coat put on in unfit air is logged, and told why it should not have been", "[service]") {
  Shop shop;
  begin(shop);
  shop.air_for(hours(9));
  shop.air_for(hours(1), 14.0);
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = {"fern-01"};
  const auto answer = granted(service::coat(shop.shop(), params, shop.now));
  CHECK(holds(answer.said,
              "fern-01: this air is outside limits of the sheet (air below the limit for the "
              "next coat: 14.0 °C, the sheet's limit is 15.0 °C). Logged all the same"));
  REQUIRE(answer.pieces.size() == 1);
  CHECK(holds(answer.pieces[0].outside_limits.at(0).what, "air below the limit"));
}

TEST_CASE("A coat that opens in unfit air is told open once the air is fit", "[service]") {
  Shop shop;
  begin(shop);
  shop.air_for(hours(7));
  REQUIRE_FALSE(holds(shop.told(), "safe-to-recoat"));
  for (int i = 0; i < 24 && shop.piece("fern-01").outside_limits.empty(); ++i)
    shop.air_for(minutes(10), 33.0, 25.0);  // so dry that the cool piece stays far from the dew point
  REQUIRE_FALSE(shop.piece("fern-01").outside_limits.empty());
  CHECK(shop.verdict("fern-01") == "wait");
  CHECK_FALSE(holds(shop.told(), "safe-to-recoat"));
  shop.air_for(minutes(30));
  CHECK(shop.verdict("fern-01") == "recoat");
  CHECK(holds(shop.told(), "safe-to-recoat"));
}

TEST_CASE("A torch is answered with the flame caution and every alcohol wipe of its zone", "[service]") {
  Shop shop;
  begin(shop);
  auto quiet = granted(service::step(shop.shop(), step("torched", {"fern-01"}), shop.now));
  CHECK(holds(quiet.cautions, "Flame"));
  CHECK_FALSE(holds(quiet.cautions, "fern-02"));
  granted(service::move(shop.shop(), {{"fern-02"}, "bench", {}}, shop.now));
  auto wiped = step("wiped", {"fern-02"});
  wiped.with = "alcohol";
  granted(service::step(shop.shop(), wiped, shop.now));
  shop.now += minutes(20);
  const auto answer = granted(service::step(shop.shop(), step("torched", {"fern-01"}), shop.now));
  CHECK(holds(answer.cautions, "fern-02 was wiped with alcohol"));
  shop.now += hours(5);
  const auto later = granted(service::step(shop.shop(), step("torched", {"fern-01"}), shop.now));
  CHECK(holds(later.cautions, "Flame"));
  CHECK_FALSE(holds(later.cautions, "fern-02"));
}

TEST_CASE("Words that are no step, wipe, decal or touch are refused with those there are", "[service]") {
  Shop shop;
  begin(shop);
  CHECK(holds(refusal(service::step(shop.shop(), step("licked", {"fern-01"}), shop.now)).detail, "sanded"));
  auto params = step("wiped", {"fern-01"});
  params.with = "vinegar";
  CHECK(refusal(service::step(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
  params = step("decal", {"fern-01"});
  params.kind = "paper";
  CHECK(refusal(service::step(shop.shop(), params, shop.now)).kind == ErrorKind::invalid);
  CHECK(refusal(service::step(shop.shop(), step("noted", {"fern-01"}), shop.now)).kind == ErrorKind::invalid);
  CHECK(holds(refusal(service::touch(shop.shop(), {"squishy", {"fern-01"}, {}}, shop.now)).detail, "tacky"));
}

TEST_CASE("A touch wants a coat, and a sanding trial one that is surely tack-free", "[service]") {
  Shop shop;
  begin(shop);
  CHECK(refusal(service::touch(shop.shop(), {"firm", {"fern-02"}, {}}, shop.now)).kind == ErrorKind::refused);
  shop.air_for(hours(1));
  const auto error = refusal(service::touch(shop.shop(), {"powders", {"fern-01"}, {}}, shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "fern-01"));
  shop.air_for(hours(20));
  const auto answer = granted(service::touch(shop.shop(), {"powders", {"fern-01"}, {}}, shop.now));
  CHECK_FALSE(answer.cautions.empty());
}

TEST_CASE("A touch of a batch is of its witness, which takes no sanding trial", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01");
  api::MixedParams mix;
  mix.sheet = "fast-coating-epoxy";
  mix.part_a_g = 20;
  mix.part_b_g = 9;
  mix.zone = "bench";
  granted(service::mixed(shop.shop(), mix, shop.now));
  shop.coat("@", {"fern-01"});
  while (shop.verdict("fern-01") == "wait")
    shop.air_for(minutes(10));
  REQUIRE(shop.verdict("fern-01") == "touch-test");
  CHECK(refusal(service::touch(shop.shop(), {"gums", {"b0303-1"}, {}}, shop.now)).kind == ErrorKind::refused);
  granted(service::touch(shop.shop(), {"firm", {"b0303-1"}, {}}, shop.now));
  CHECK(shop.verdict("fern-01") != "recoat");  // a witness never opens
  CHECK(shop.shop().book.workbook().batch(quantity::BatchId("b0303-1"))->witness.size() == 1);
}

}  // namespace setwell::service_tests
