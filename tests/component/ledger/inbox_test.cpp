#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using decode::RawMessage;
using ledger::Inbox;
using ledger::InboxOptions;
using ledger::InboxReader;
using std::chrono::days;
using std::chrono::minutes;

namespace {

struct CountingWake : mqtt::Wake {
  void ring() noexcept override { ++rung; }
  int rung = 0;
};

std::vector<std::string> payloads_of(const std::vector<RawMessage>& rows) {
  std::vector<std::string> payloads;
  for (const auto& row : rows)
    payloads.push_back(row.payload);
  return payloads;
}

InboxOptions without_reserve() {
  InboxOptions options;
  options.reserve_bytes = 0;
  return options;
}

using Payloads = std::vector<std::string>;

}  // namespace

TEST_CASE("a message comes back exactly as it was kept", "[inbox]") {
  TempDir folder;
  CountingWake wake;
  auto options = without_reserve();
  options.wake = &wake;
  auto inbox = open_inbox(folder / "inbox.db", options);
  RawMessage full;
  full.topic = "bench/\xc3\xa4ir";
  full.payload = std::string("\0\xff{}", 4);
  full.payload_size = 4;
  full.received = at(3);
  full.connection = 12;
  full.since_connected = std::chrono::milliseconds(1234);
  full.session_resumed = true;
  full.qos = 2;
  full.retained = true;
  full.duplicate = true;
  inbox->keep(full);
  CHECK(wake.rung == 1);
  CHECK(inbox->kept() == 1);
  CHECK_FALSE(inbox->waiting_for_storage());
  const auto rows = open_reader(folder / "inbox.db").read(0, 10);
  REQUIRE(rows.size() == 1);
  const auto& back = rows[0];
  CHECK(back.row == 1);
  CHECK(back.topic == full.topic);
  CHECK(back.payload == full.payload);
  CHECK(back.payload_size == 4);
  CHECK(back.received == full.received);
  CHECK(back.connection == 12);
  CHECK(back.since_connected == full.since_connected);
  CHECK(back.session_resumed);
  CHECK(back.qos == 2);
  CHECK(back.retained);
  CHECK(back.duplicate);
}

TEST_CASE("an empty payload is kept, a huge one is cut and its size kept", "[inbox]") {
  TempDir folder;
  auto inbox = open_inbox(folder / "inbox.db", without_reserve());
  inbox->keep(message(""));
  inbox->keep(message(std::string(100'000, 'x')));
  const auto rows = open_reader(folder / "inbox.db").read(0, 10);
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].payload.empty());
  CHECK(rows[1].payload.size() == decode::kLargestPayload);
  CHECK(rows[1].payload_size == 100'000);
}

TEST_CASE("rows are read in order, from a row on, and as many as asked for", "[inbox]") {
  TempDir folder;
  auto inbox = open_inbox(folder / "inbox.db", without_reserve());
  const auto reader = open_reader(folder / "inbox.db");
  CHECK(reader.newest_row() == 0);
  for (const auto* payload : {"a", "b", "c", "d"})
    inbox->keep(message(payload));
  CHECK(payloads_of(reader.read(0, 2)) == Payloads{"a", "b"});
  CHECK(payloads_of(reader.read(2, 100)) == Payloads{"c", "d"});
  CHECK(reader.read(4, 100).empty());
  CHECK(reader.newest_row() == 4);
}

TEST_CASE("the generation is the same after a restart and another for another file", "[inbox]") {
  TempDir folder;
  std::uint64_t first = 0;
  {
    auto inbox = open_inbox(folder / "inbox.db", without_reserve());
    first = inbox->generation();
    inbox->keep(message("a"));
    CHECK(open_reader(folder / "inbox.db").generation() == first);
  }
  CHECK(open_inbox(folder / "inbox.db", without_reserve())->generation() == first);
  std::filesystem::remove(folder / "inbox.db");
  auto another = open_inbox(folder / "inbox.db", without_reserve());
  CHECK(another->generation() != first);
  CHECK(open_reader(folder / "inbox.db").read(0, 10).empty());
}

TEST_CASE("connections are counted over restarts", "[inbox]") {
  TempDir folder;
  {
    auto inbox = open_inbox(folder / "inbox.db", without_reserve());
    CHECK(inbox->last_connection() == 0);
    auto made = message("a");
    for (const int connection : {1, 1, 7}) {
      made.connection = connection;
      inbox->keep(made);
    }
  }
  CHECK(open_inbox(folder / "inbox.db", without_reserve())->last_connection() == 7);
}

TEST_CASE("the tail of the previous connection is its last rows, and no other's", "[inbox]") {
  TempDir folder;
  auto inbox = open_inbox(folder / "inbox.db", without_reserve());
  const auto reader = open_reader(folder / "inbox.db");
  CHECK(reader.previous_connection_tail(1).empty());
  const auto keep = [&](std::int64_t connection, int from, int to) {
    for (int i = from; i < to; ++i) {
      auto made = message(std::to_string(i));
      made.connection = connection;
      inbox->keep(made);
    }
  };
  keep(1, 0, 30);
  keep(3, 30, 35);
  keep(4, 35, 60);
  CHECK(reader.previous_connection_tail(1).empty());
  CHECK(payloads_of(reader.previous_connection_tail(4)) == Payloads{"30", "31", "32", "33", "34"});
  const auto of_the_first = payloads_of(reader.previous_connection_tail(3));
  REQUIRE(of_the_first.size() == 20);
  CHECK(of_the_first.front() == "10");
  CHECK(of_the_first.back() == "29");
  // A connection that has brought nothing yet.
  CHECK(payloads_of(reader.previous_connection_tail(9, 2)) == Payloads{"58", "59"});
  CHECK(payloads_of(reader.previous_connection_tail(2, 1)) == Payloads{"29"});
}

TEST_CASE("only taken and old rows are pruned, 50 at once and once a minute", "[inbox]") {
  TempDir folder;
  auto options = without_reserve();
  options.keep_for = days(3);
  auto inbox = open_inbox(folder / "inbox.db", options);
  const auto reader = open_reader(folder / "inbox.db");
  for (int i = 0; i < 200; ++i)
    inbox->keep(message("old", at(0)));
  const auto left = [&] { return reader.read(0, 1000).size(); };
  const Instant later = at(0) + days(4);

  inbox->keep(message("new", later));
  CHECK(left() == 201);  // nothing is taken yet
  inbox->tell_taken(120);
  inbox->keep(message("new", later + minutes(1)));
  CHECK(left() == 152);
  inbox->keep(message("new", later + minutes(1) + std::chrono::seconds(59)));
  CHECK(left() == 153);
  inbox->keep(message("new", later + minutes(2)));
  CHECK(left() == 104);
  inbox->keep(message("new", later + minutes(3)));
  CHECK(left() == 85);  // 20 more were taken
  inbox->keep(message("new", later + minutes(4)));
  CHECK(left() == 86);
  CHECK(reader.read(0, 1).front().row == 121);
}

TEST_CASE("young rows are never pruned, nor the newest twenty of any age", "[inbox]") {
  TempDir folder;
  auto options = without_reserve();
  options.keep_for = days(3);
  auto inbox = open_inbox(folder / "inbox.db", options);
  for (int i = 0; i < 30; ++i)
    inbox->keep(message("young", at(0)));
  inbox->tell_taken(1000);
  inbox->keep(message("next", at(0) + days(2)));
  const auto reader = open_reader(folder / "inbox.db");
  CHECK(reader.read(0, 1000).size() == 31);
  inbox->keep(message("much later", at(0) + days(20)));
  CHECK(reader.read(0, 1000).size() == 20);
}

TEST_CASE("rows stamped by a clock far ahead do not stay for ever, and a clock never set prunes nothing",
          "[inbox]") {
  TempDir folder;
  auto inbox = open_inbox(folder / "inbox.db", without_reserve());
  for (int i = 0; i < 60; ++i)
    inbox->keep(message("ahead", at(0) + days(5000)));
  inbox->tell_taken(60);
  const auto reader = open_reader(folder / "inbox.db");
  inbox->keep(message("never set", quantity::instant_from_ms(5000)));
  CHECK(reader.read(0, 1000).size() == 61);
  inbox->keep(message("set right", at(0)));
  CHECK(reader.read(0, 1000).size() == 20);
}

TEST_CASE("a row number is never given twice, not even after everything was pruned", "[inbox]") {
  TempDir folder;
  {
    auto inbox = open_inbox(folder / "inbox.db", without_reserve());
    for (int i = 0; i < 3; ++i)
      inbox->keep(message("a"));
  }
  { Outsider(folder / "inbox.db").run("DELETE FROM message"); }
  auto inbox = open_inbox(folder / "inbox.db", without_reserve());
  inbox->keep(message("b"));
  CHECK(open_reader(folder / "inbox.db").read(0, 5).front().row == 4);
}

TEST_CASE("the reserve lies beside the inbox and is made once", "[inbox]") {
  TempDir folder;
  InboxOptions options;
  options.reserve_bytes = 64 * 1024;
  { auto inbox = open_inbox(folder / "inbox.db", options); }
  CHECK(std::filesystem::file_size(folder / "inbox.db.reserve") == 64 * 1024);
  { auto inbox = open_inbox(folder / "inbox.db", options); }
  CHECK(std::filesystem::file_size(folder / "inbox.db.reserve") == 64 * 1024);
}

}  // namespace setwell::ledger_test
