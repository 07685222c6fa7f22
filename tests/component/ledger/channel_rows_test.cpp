#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::Ledger;
using ledger::RefusedRow;
using quantity::ChannelId;
using quantity::Refusal;

TEST_CASE("refused messages are counted for ever and the newest thousand of each source kept raw",
          "[ledger]") {
  auto book = open_ledger();
  auto change = book.begin();
  for (int i = 0; i < Ledger::kRefusedKept + 250; ++i)
    book.put_refused({"bench", "t", at(i), Refusal::not_json, std::to_string(i), 1});
  const RefusedRow other{"rack", "u", at(5), Refusal::too_large, std::string("\0\xfe", 2), 70000};
  book.put_refused(other);
  change.commit();
  const auto kept = book.refused("bench", 5000);
  REQUIRE(kept.size() == Ledger::kRefusedKept);
  CHECK(kept.front().payload == "1249");
  CHECK(kept.back().payload == "250");
  CHECK(book.refused("rack", 10) == std::vector<RefusedRow>{other});
  CHECK(book.refused("bench", 3).size() == 3);
  const auto counts = book.refused_counts();
  REQUIRE(counts.size() == 2);
  CHECK(counts[0] == ledger::RefusedCount{"bench", Refusal::not_json, 1250, at(1249)});
  CHECK(counts[1] == ledger::RefusedCount{"rack", Refusal::too_large, 1, at(5)});
}

TEST_CASE("a channel's state is empty at first and then as it was set", "[ledger]") {
  auto book = open_ledger();
  const auto channel = book.channel_number(ChannelId("bench/battery"));
  CHECK(book.channel_state(channel) == ledger::ChannelState{});
  const ledger::ChannelState full{at(3), at(2), at(1), 20.5, 1, 2.9, false};
  book.set_channel_state(channel, full);
  CHECK(book.channel_state(channel) == full);
  book.set_channel_state(channel, {});
  CHECK(book.channel_state(channel) == ledger::ChannelState{});
}

}  // namespace setwell::ledger_test
