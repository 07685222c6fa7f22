#include <algorithm>

#include "tests/component/service/shop.hpp"

/// A machine's clock that was never set, that is set while the daemon runs, and a machine that slept.
namespace setwell::service_tests {

namespace {

using std::chrono::days;

long times(const Shop&, const std::vector<std::string>& told, std::string_view kind) {
  return std::count(told.begin(), told.end(), kind);
}

const api::StatusLine& line_of(const api::StatusAnswer& status, std::string_view part) {
  for (const auto& line : status.lines) {
    if (line.part == part) return line;
  }
  throw std::runtime_error("no such line");
}

api::StatusAnswer status_of(Shop& shop) {
  return granted(service::status(shop.shop(), {}, shop.now));
}

void coat_one(Shop& shop) {
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
}

/// On until the opening was told, the air as it is.
void upto_telling(Shop& shop) {
  while (times(shop, shop.told(), "safe-to-recoat") == 0) {
    shop.air_for(minutes(10));
    REQUIRE(shop.now < morning() + days(2));
  }
}

}  // namespace

TEST_CASE("While the clock was never set nothing is logged or told, and what to do is said",
          "[service][clock]") {
  Shop shop;
  shop.now = at("1970-01-01T00:01:00Z");
  api::PieceNewParams piece;
  piece.pieces = {"fern-01"};
  piece.form = "tumbler";
  const auto refused = refusal(service::piece_new(shop.shop(), piece, shop.now));
  CHECK(holds(refused.detail, "never set"));
  CHECK(holds(refused.detail, "Nothing was logged"));
  shop.take(shop.message(morning(), 22.0, 50.0, shop.now));
  shop.silence_for(hours(3));
  CHECK(shop.told().empty());
  const auto unset = status_of(shop);
  CHECK_FALSE(line_of(unset, "clock").ok);
  CHECK_FALSE(unset.ok);
  // The clock is set: all is as if the daemon had started now.
  shop.now = morning() + hours(1);
  shop.tick();
  CHECK(line_of(status_of(shop), "clock").ok);
  coat_one(shop);
  upto_telling(shop);
  CHECK(shop.verdict("fern-01") == "recoat");
}

TEST_CASE("A clock set an hour or a day forward opens nothing, and repeats nothing", "[service][clock]") {
  for (const auto step : {hours(1), hours(24)}) {
    INFO(step.count() << " h");
    Shop shop;
    coat_one(shop);
    shop.air_for(hours(1));
    shop.now += step;
    shop.tick();
    CHECK(shop.verdict("fern-01") != "recoat");
    CHECK(times(shop, shop.told(), "safe-to-recoat") == 0);
    const auto told = shop.told();
    shop.tick();
    CHECK(shop.told() == told);
  }
}

TEST_CASE("What a clock stamped ahead of itself counts no more once it is set back", "[service][clock]") {
  for (const auto step : {hours(1), hours(24)}) {
    INFO(step.count() << " h");
    Shop shop(Keeps::a_file);
    Shop never;
    for (auto* each : {&shop, &never}) {
      coat_one(*each);
      each->air_for(hours(1));
    }
    const auto right = shop.now;
    // Not on the minutes of the readings to come: one device time is one reading.
    shop.now += step + minutes(3);
    shop.air_for(hours(1), 30.0);
    shop.now = right + hours(1);
    shop.tick();
    // An hour of which nothing is known, instead of a day that never was.
    never.silence_for(hours(1));
    CHECK(shop.piece("fern-01").milestones.size() == never.piece("fern-01").milestones.size());
    CHECK(shop.checkpoints() == never.checkpoints());
    CHECK_FALSE(line_of(status_of(shop), "clock").ok);
    CHECK(holds(line_of(status_of(shop), "clock").state, "set back"));
    CHECK(times(shop, shop.told(), "safe-to-recoat") == 0);
    // And it stays so after a restart, and when the hours that were stamped ahead come by for real.
    shop.restart();
    for (auto* each : {&shop, &never})
      each->air_for(hours(30));
    CHECK(shop.checkpoints() == never.checkpoints());
    CHECK(times(shop, shop.told(), "safe-to-recoat") == times(never, never.told(), "safe-to-recoat"));
  }
}

TEST_CASE("A clock that is put right by less than two minutes is let be", "[service][clock]") {
  Shop shop;
  coat_one(shop);
  shop.air_for(hours(1));
  const auto readings = shop.readings();
  shop.now -= std::chrono::seconds(90);
  shop.tick();
  CHECK(shop.readings() == readings);
  CHECK(line_of(status_of(shop), "clock").ok);
}

TEST_CASE("A machine that slept eight hours tells of the silence and opens nothing over it",
          "[service][clock]") {
  Shop shop;
  coat_one(shop);
  shop.air_for(hours(1));
  shop.now += hours(8);
  shop.tick();
  CHECK(shop.verdict("fern-01") == "no-readings");
  CHECK(times(shop, shop.told(), "safe-to-recoat") == 0);
  shop.air_for(hours(12));
  CHECK(times(shop, shop.told(), "safe-to-recoat") <= 1);
}

}  // namespace setwell::service_tests
