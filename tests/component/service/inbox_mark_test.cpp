#include "tests/component/service/shop.hpp"

/// Which rows of the inbox were taken.
namespace setwell::service_tests {

TEST_CASE("A batch taken twice changes nothing", "[service]") {
  Shop shop;
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  std::vector<decode::RawMessage> batch;
  for (int i = 1; i <= 12; ++i)
    batch.push_back(shop.message(morning() + minutes(10) * i, 21.0 + 0.1 * (i % 2), 50.0));
  shop.now = morning() + hours(2);
  shop.take(batch);
  const auto state = shop.state();
  const auto readings = shop.readings();
  const auto mark = shop.shop().ledger.inbox_mark();
  CHECK(mark.taken_upto == batch.back().row);
  shop.take(batch);
  CHECK(shop.state() == state);
  CHECK(shop.readings() == readings);
  CHECK(shop.shop().ledger.inbox_mark() == mark);
  CHECK(shop.shop().ledger.refused_counts().empty());
}

TEST_CASE("A batch cut by a kill is gone on with at the row after the mark", "[service]") {
  Shop shop(Keeps::a_file);
  std::vector<decode::RawMessage> batch;
  for (int i = 1; i <= 6; ++i)
    batch.push_back(shop.message(morning() + minutes(10) * i, 21.0 + 0.1 * (i % 2), 50.0));
  shop.now = morning() + hours(1);
  shop.take({batch.begin(), batch.begin() + 3});
  shop.restart();
  shop.take(batch);
  Shop whole;
  whole.now = shop.now;
  whole.take(batch);
  CHECK(shop.readings() == whole.readings());
}

TEST_CASE("Another inbox is taken from its first row, and remarked on from then on", "[service]") {
  Shop shop(Keeps::a_file);
  shop.now = morning() + hours(1);
  shop.take({shop.message(morning() + minutes(10), 21.0, 50.0)}, 7);
  CHECK(shop.shop().around.inbox_remark.empty());
  auto fresh = shop.message(morning() + minutes(20), 21.1, 50.0);
  fresh.row = 1;
  shop.take({fresh}, 8);
  CHECK(holds(shop.shop().around.inbox_remark, "another inbox"));
  CHECK(shop.shop().ledger.inbox_mark() == ledger::InboxMark{8, 1});
  shop.restart();
  CHECK(holds(shop.shop().around.inbox_remark, "another inbox"));
}

TEST_CASE("A message on a topic nobody set up is kept, counted and listed", "[service]") {
  Shop shop;
  auto stray = shop.message(shop.now, 21.0, 50.0);
  stray.topic = "shop/attic/climate";
  shop.take(stray);
  const auto answer = granted(service::sensors(shop.shop(), {}, shop.now));
  REQUIRE(answer.unmapped.size() == 1);
  CHECK(answer.unmapped.front().reason == "shop/attic/climate");
  CHECK(answer.unmapped.front().count == 1);
}

}  // namespace setwell::service_tests
