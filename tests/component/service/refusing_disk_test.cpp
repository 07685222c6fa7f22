#include <functional>
#include <vector>

#include "daemon/ledger/fault.hpp"
#include "tests/component/service/shop.hpp"
#include "tests/support/shim_disk.hpp"

/// A disk that refuses in the middle of taking a reading in or of logging an entry.
namespace setwell::service_tests {

using test_support::ShimDisk;

namespace {

using Act = std::function<void(Shop&)>;

/// What a maker's morning does to the ledger, one act after the other.
std::vector<Act> acts() {
  return {
      [](Shop& shop) {
        shop.now = morning() + minutes(10);
        shop.take(shop.message(shop.now, 21.0, 50.0));
      },
      [](Shop& shop) { shop.coat("fast-coating-epoxy", {"fern-01"}); },
      [](Shop& shop) {
        shop.now = morning() + hours(9);
        std::vector<decode::RawMessage> batch;
        for (int i = 2; i <= 54; ++i)
          batch.push_back(shop.message(morning() + minutes(10) * i, 21.0 + 0.05 * (i % 2), 50.0));
        shop.take(std::move(batch));
      },
      [](Shop& shop) { shop.tick(); },
  };
}

/// The disk refuses: what was asked for is not done, and is asked again once the disk is well. A message
/// keeps its row, as the inbox would hand it out again.
void act_until_done(Shop& shop, const Act& act, ShimDisk* disk) {
  const auto rows = shop.rows();
  try {
    act(shop);
  } catch (const std::exception& thrown) {
    CHECK(ledger::storage_fault(thrown) != ledger::StorageFault::none);
    disk->heal();
    shop.rows_again_from(rows);
    act(shop);
  }
}

struct Outcome {
  std::string state, readings, checkpoints;
  std::vector<std::string> told;
  std::int64_t calls = 0;
  friend bool operator==(const Outcome& a, const Outcome& b) {
    return a.state == b.state && a.readings == b.readings && a.checkpoints == b.checkpoints &&
           a.told == b.told;
  }
};

/// The morning with the disk refusing at its `nth` call (and `more` after it) since the shop opened.
Outcome morning_with_a_fault(std::int64_t nth, std::int64_t more, bool& refused) {
  ShimDisk disk;
  Outcome outcome;
  {
    Shop shop(Keeps::a_file);
    shop.make("fern-01");
    const auto before = disk.calls();
    disk.fail_at(nth, SQLITE_IOERR_WRITE, more);
    for (const auto& act : acts())
      act_until_done(shop, act, &disk);
    refused = disk.refused();
    disk.heal();
    outcome.calls = disk.calls() - before;
    outcome = {shop.state(), shop.readings(), shop.checkpoints(), shop.told(), outcome.calls};
    shop.restart();
    shop.tick();
    CHECK(shop.state() == outcome.state);
    CHECK(shop.readings() == outcome.readings);
  }
  return outcome;
}

}  // namespace

TEST_CASE("Whichever call of the disk fails, the workshop ends as if none had", "[service][disk]") {
  bool refused = false;
  const auto sound = morning_with_a_fault(1'000'000, 0, refused);
  REQUIRE_FALSE(refused);
  REQUIRE(sound.calls > 30);
  REQUIRE_FALSE(sound.told.empty());
  for (const std::int64_t more : {0, 40}) {
    std::int64_t faults = 0;
    for (std::int64_t nth = 1; nth <= sound.calls; nth += more == 0 ? 1 : 7) {
      INFO("call " << nth << " and " << more << " more");
      CHECK(morning_with_a_fault(nth, more, refused) == sound);
      faults += refused ? 1 : 0;
    }
    CHECK(faults > 5);
  }
}

}  // namespace setwell::service_tests
