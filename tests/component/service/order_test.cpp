#include <algorithm>
#include <random>

#include "tests/component/service/shop.hpp"

/// Late readings, and readings in any order.
namespace setwell::service_tests {

namespace {

double celsius(int i) {
  return 19.0 + (i * 37 % 11) * 0.25;
}

/// A day's messages, each with the moment it was received.
std::vector<decode::RawMessage> day(Shop& shop, int count) {
  std::vector<decode::RawMessage> messages;
  for (int i = 1; i <= count; ++i)
    messages.push_back(shop.message(morning() + minutes(10) * i, celsius(i), 48.0 + i % 3));
  return messages;
}

/// A shop in which a coat waits for its air.
void begin(Shop& shop) {
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
}

auto times(const std::vector<std::string>& told, const std::string& kind) {
  return std::count(told.begin(), told.end(), kind);
}

}  // namespace

TEST_CASE("Any order of a day's messages ends in the identical state", "[service]") {
  constexpr int kCount = 108;  // 18 h, over a midnight
  Shop straight;
  begin(straight);
  const auto messages = day(straight, kCount);
  straight.now = morning() + hours(18) + minutes(1);
  straight.take(messages);
  straight.tick();
  for (unsigned seed = 1; seed <= 4; ++seed) {
    INFO("seed " << seed);
    Shop mixed;
    begin(mixed);
    auto order = messages;
    std::shuffle(order.begin(), order.end(), std::mt19937(seed));
    std::int64_t row = 0;
    for (auto& message : order)
      message.row = ++row;
    mixed.now = straight.now;
    // In batches, so that clocks run ahead and have to come back.
    for (std::size_t i = 0; i < order.size(); i += 27)
      mixed.take({order.begin() + static_cast<std::ptrdiff_t>(i),
                  order.begin() + static_cast<std::ptrdiff_t>(i + 27)});
    mixed.tick();
    CHECK(mixed.readings() == straight.readings());
    CHECK(mixed.checkpoints() == straight.checkpoints());
    CHECK(mixed.state() == straight.state());
  }
}

TEST_CASE("A reading that comes late makes the clocks what they would be from scratch, bit for bit",
          "[service]") {
  Shop late;
  begin(late);
  auto messages = day(late, 120);
  const auto held_back = messages[40];
  auto rest = messages;
  rest.erase(rest.begin() + 40);
  late.now = morning() + hours(20);
  late.take(rest);
  late.tick();
  const auto without = late.checkpoints();
  auto delayed = held_back;
  delayed.row = 1000;
  late.take(delayed);
  CHECK(late.checkpoints() != without);
  Shop punctual;
  begin(punctual);
  punctual.now = late.now;
  punctual.take(messages);
  punctual.tick();
  CHECK(late.checkpoints() == punctual.checkpoints());
  CHECK(late.state() == punctual.state());
}

TEST_CASE("Cold air heard of late takes an opening back, once, and tells it again only when it is true anew",
          "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  begin(shop);
  // Two hours are held back by the gateway; the silence is short enough for its envelope to be mild.
  while (times(shop.told(), "safe-to-recoat") == 0) {
    shop.air_for(minutes(10));
    REQUIRE(shop.now < morning() + hours(24));
  }
  CHECK(times(shop.told(), "safe-to-recoat!") == 0);
  std::vector<decode::RawMessage> cold;
  for (int i = 0; i < 36; ++i)
    cold.push_back(shop.message(morning() + hours(3) + minutes(5) * i + minutes(2), 15.5, 50.0, shop.now));
  shop.take(cold);
  shop.tick();
  const auto told = shop.told();
  CHECK(times(told, "safe-to-recoat!") == 1);
  CHECK(shop.verdict("fern-01") != "recoat");
  shop.tick();
  shop.tick();
  CHECK(shop.told() == told);
  shop.air_for(hours(14));
  CHECK(times(shop.told(), "safe-to-recoat!") == 1);
  CHECK(times(shop.told(), "safe-to-recoat") <= 2);
}

TEST_CASE("A message that comes again later, as after a kill, takes nothing from the air it had told",
          "[service]") {
  Shop once;
  Shop again;
  for (Shop* shop : {&once, &again}) {
    shop->make("fern-01");
    shop->air_for(minutes(30));
    shop->coat("fast-coating-epoxy", {"fern-01"});
    shop->air_for(hours(3), 19.0);
  }
  // The same device times, received once more: every one of the last hour.
  for (int back = 60; back >= 0; back -= 10)
    again.take(again.message(again.now - minutes(back), 19.0, 50.0, again.now + std::chrono::seconds(5)));
  for (Shop* shop : {&once, &again})
    shop->air_for(hours(2), 20.0);
  CHECK(again.shop().zones.begin()->second.history() == once.shop().zones.begin()->second.history());
  CHECK(again.checkpoints() == once.checkpoints());
  CHECK(again.state() == once.state());
}

}  // namespace setwell::service_tests
