#include <algorithm>

#include "daemon/service/upkeep.hpp"
#include "tests/component/service/shop.hpp"

/// Stopping, starting, and what goes wrong in the middle of a change.
namespace setwell::service_tests {

namespace {

void begin(Shop& shop) {
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
}

void upto_opening(Shop& shop) {
  while (shop.verdict("fern-01") != "recoat") {
    shop.air_for(minutes(10));
    REQUIRE(shop.now < morning() + hours(20));
  }
}

}  // namespace

TEST_CASE("Twenty restarts change nothing and send nothing", "[service]") {
  Shop shop(Keeps::a_file);
  begin(shop);
  upto_opening(shop);
  const auto told = shop.told();
  const auto clocks = shop.checkpoints();
  const auto waiting = shop.shop().ledger.outbox().counts();
  REQUIRE(waiting.size() == 1);
  // Times ahead are kept for a quarter of an hour: a fresh start works them out anew.
  shop.restart();
  shop.tick();
  const auto state = shop.state();
  for (int i = 0; i < 20; ++i) {
    shop.restart();
    shop.tick();
  }
  CHECK(shop.told() == told);
  CHECK(shop.state() == state);
  CHECK(shop.checkpoints() == clocks);
  CHECK(shop.shop().ledger.outbox().counts().front().waiting == waiting.front().waiting);
}

TEST_CASE("What became true while the daemon was down is told once, with the time it began", "[service]") {
  Shop shop(Keeps::a_file);
  begin(shop);
  shop.air_for(hours(2));
  std::vector<decode::RawMessage> waiting;
  const auto back = shop.now + hours(8);
  for (auto t = shop.now + minutes(10); t <= back; t += minutes(10))
    waiting.push_back(shop.message(t, 22.0, 50.0, back));
  shop.now = back;
  shop.restart();
  shop.take(waiting);
  shop.tick();
  const auto told = shop.told();
  CHECK(std::count(told.begin(), told.end(), "safe-to-recoat") == 1);
  const auto piece = shop.piece("fern-01");
  REQUIRE(piece.verdict == "recoat");
  CHECK(at(*piece.recoat.front().from) < back - hours(1));
  for (int i = 0; i < 5; ++i) {
    shop.restart();
    shop.tick();
  }
  CHECK(shop.told() == told);
}

TEST_CASE("A coat goes on over midnights from its checkpoints as if nothing had stopped", "[service]") {
  Shop steady;
  Shop shaken(Keeps::a_file);
  for (auto* shop : {&steady, &shaken})
    begin(*shop);
  for (int i = 0; i < 30; ++i) {
    steady.air_for(hours(1), 20.0 + i % 5);
    shaken.air_for(hours(1), 20.0 + i % 5);
    shaken.restart();
    shaken.tick();
  }
  for (auto* shop : {&steady, &shaken})
    shop->silence_for(minutes(20));  // so that both work their times ahead out anew
  CHECK(shaken.checkpoints() == steady.checkpoints());
  CHECK(shaken.state() == steady.state());
  CHECK(shaken.told() == steady.told());
}

TEST_CASE("Another lag in the settings changes the clocks of coats already there", "[service]") {
  Shop shop(Keeps::a_file);
  begin(shop);
  shop.air_for(hours(20));
  const auto before = shop.piece("fern-01");
  shop.restart_with("[[form]]\nid = \"other\"\narea = \"1 cm2\"\nlag = \"1 min\"\n");
  CHECK(shop.piece("fern-01").milestones.front().slow.progress == before.milestones.front().slow.progress);
  shop.replace_setting("lag = \"15 min\"", "lag = \"240 min\"");
  shop.restart();
  shop.tick();
  Shop fresh(Keeps::a_file);
  fresh.replace_setting("lag = \"15 min\"", "lag = \"240 min\"");
  fresh.restart();
  begin(fresh);
  fresh.air_for(hours(20));
  CHECK(shop.checkpoints() == fresh.checkpoints());
}

TEST_CASE("What throws inside a change leaves memory as the ledger is", "[service]") {
  Shop shop(Keeps::a_file);
  begin(shop);
  shop.air_for(hours(3));
  shop.restart();
  shop.tick();
  const auto state = shop.state();
  const auto clocks = shop.checkpoints();
  const auto readings = shop.readings();
  auto& workshop = shop.shop();
  const auto spoilt = shop.message(shop.now, 31.0, 70.0);
  const auto break_off = [&] {
    service::write(workshop, [&] {
      core::Entry entry;
      entry.piece = quantity::PieceId("fern-02");
      entry.said = entry.happened = shop.now;
      entry.body = core::PieceMade{quantity::FormId("tumbler"), std::nullopt, std::nullopt};
      (void)workshop.book.add(workshop.ledger, entry);
      for (const auto& change : workshop.sensors.take(spoilt, {}, workshop.ledger, workshop.zones))
        workshop.coats.air_changed(change, workshop.ledger);
      service::entries_changed(workshop);
      throw std::runtime_error("the disk is full");
    });
  };
  CHECK_THROWS_AS(break_off(), std::runtime_error);
  shop.tick();
  CHECK(shop.state() == state);
  CHECK(shop.checkpoints() == clocks);
  CHECK(shop.readings() == readings);
  shop.restart();
  shop.tick();
  CHECK(shop.state() == state);
}

}  // namespace setwell::service_tests
