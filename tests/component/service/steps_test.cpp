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
