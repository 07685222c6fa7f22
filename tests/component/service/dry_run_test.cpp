#include <algorithm>
#include <cmath>

#include "tests/component/service/shop.hpp"

/// A coat that is only asked about, and what the air shows of coats.
namespace setwell::service_tests {

namespace {

api::CoatParams asked(std::vector<std::string> pieces, std::optional<std::string> at = std::nullopt) {
  api::CoatParams params;
  params.what = "fast-coating-epoxy";
  params.pieces = std::move(pieces);
  params.zone = "bench";
  params.at = std::move(at);
  return params;
}

api::TriedPiece tried(Shop& shop, const api::CoatParams& params) {
  auto answer = granted(service::coat_dry_run(shop.shop(), params, shop.now));
  REQUIRE(answer.pieces.size() == 1);
  return answer.pieces.front();
}

/// Warm days and cold nights, the coldest hour at six.
void live_for(Shop& shop, hours span, double mean, double swing) {
  const auto until = shop.now + span;
  while (shop.now < until) {
    const double hour = quantity::hours_between(morning(), shop.now).count() + 8;
    shop.air_for(minutes(30), mean - swing * std::cos((hour - 6) * 2 * 3.14159265 / 24), 50.0);
  }
}

}  // namespace

TEST_CASE("Asking about a coat logs nothing and changes nothing", "[service]") {
  Shop shop;
  shop.air_for(hours(3));
  shop.make("fern-01");
  const auto before = shop.state();
  const auto entries = granted(service::entries(shop.shop(), {"fern-01"}, shop.now)).entries.size();
  (void)tried(shop, asked({"fern-01"}));
  CHECK(shop.state() == before);
  CHECK(granted(service::entries(shop.shop(), {"fern-01"}, shop.now)).entries.size() == entries);
}

TEST_CASE("In steady warm air the answer is go, and the window is the one that logging it then tells",
          "[service]") {
  Shop shop;
  shop.air_for(hours(30), 23.0, 45.0);
  shop.make("fern-01");
  const auto answer = tried(shop, asked({"fern-01"}));
  CHECK(answer.advice == "go");
  CHECK(answer.coat == 1);
  CHECK(answer.starts.size() >= 48);
  REQUIRE(answer.starts.front().window);
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto logged = shop.piece("fern-01").recoat.front();
  const auto& foreseen = *answer.starts.front().window;
  REQUIRE(logged.from);
  REQUIRE(foreseen.from);
  const auto apart = at(*logged.from) - at(*foreseen.from);
  // A coat logged now carries five minutes of doubt about its time; one thought of does not.
  CHECK(quantity::Seconds(apart).count() == Approx(0).margin(900));
}

TEST_CASE("Over a coat that is not surely open the answer is wait, with the time of its opening",
          "[service]") {
  Shop shop;
  shop.air_for(hours(30), 23.0, 45.0);
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(minutes(30), 23.0, 45.0);
  const auto answer = tried(shop, asked({"fern-01"}));
  CHECK(answer.advice == "wait");
  CHECK(holds(answer.why, "surely open from"));
  REQUIRE(answer.best);
  const auto window = shop.piece("fern-01").recoat.front();
  REQUIRE(window.from);
  CHECK(at(answer.best->at) >= at(*window.from));
  CHECK((!window.until || at(answer.best->at) < at(*window.until)));
}

TEST_CASE("Air under the sheet's limit is told with value and limit, at every start that has it",
          "[service]") {
  Shop shop;
  shop.air_for(hours(30), 9.0, 50.0);
  shop.make("fern-01");
  const auto answer = tried(shop, asked({"fern-01"}));
  CHECK(answer.advice == "wait");
  CHECK_FALSE(answer.best);
  CHECK(holds(answer.starts.front().against, "9.0 °C"));
  CHECK(holds(answer.why, "No start within 48 h"));
  for (const auto& start : answer.starts)
    CHECK_FALSE(start.fits);
}

TEST_CASE("After weeks of cold nights an evening is advised against, by its chance", "[service]") {
  Shop shop;
  // Ten in the evening, 17 °C; at six it will be 8 °C.
  live_for(shop, hours(15 * 24 + 14), 14.0, 6.0);
  shop.make("fern-01");
  const auto answer = tried(shop, asked({"fern-01"}));
  CHECK(answer.advice == "wait");
  CHECK(answer.starts.front().chance.value_or(0) >= 0.2);
  CHECK(holds(answer.why, "overtakes it"));
}

TEST_CASE("A start ahead may be asked about, one beyond two days not", "[service]") {
  Shop shop;
  shop.air_for(hours(30), 23.0, 45.0);
  shop.make("fern-01");
  const auto later = quantity::rfc3339_utc(shop.now + hours(20));
  CHECK(at(tried(shop, asked({"fern-01"}, later)).starts.front().at) == at(later));
  const auto far = quantity::rfc3339_utc(shop.now + hours(60));
  const auto refused = service::coat_dry_run(shop.shop(), asked({"fern-01"}, far), shop.now);
  CHECK(holds(refusal(refused).detail, "48 h"));
}

TEST_CASE("Without anything heard of the air no start is called fit", "[service]") {
  Shop shop;
  shop.tick();
  shop.make("fern-01");
  const auto answer = tried(shop, asked({"fern-01"}));
  CHECK(answer.advice == "wait");
  CHECK_FALSE(answer.best);
}

TEST_CASE("The air tells what the coats in a zone ask of it, coats that ask the same together", "[service]") {
  Shop shop;
  shop.air_for(hours(3));
  shop.make("fern-01..02");
  shop.coat("fast-coating-epoxy", {"fern-01", "fern-02"});
  const auto zones = granted(service::air(shop.shop(), {std::string("bench")}, shop.now)).zones;
  const auto& limits = zones.front().limits;
  const auto floor = std::find_if(limits.begin(), limits.end(), [](const api::AirLimit& limit) {
    return limit.what == "cure stops below";
  });
  REQUIRE(floor != limits.end());
  CHECK(floor->value == Approx(10));
  CHECK(floor->pieces == std::vector<std::string>{"fern-01", "fern-02"});
  CHECK(granted(service::air(shop.shop(), {std::string("cabinet")}, shop.now)).zones.front().limits.empty());
}

}  // namespace setwell::service_tests
