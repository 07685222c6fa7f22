#include <atomic>
#include <fstream>
#include <thread>

#include <catch2/catch.hpp>

#include "daemon/ledger/read_only_ledger.hpp"
#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::EntryRow;
using ledger::Ledger;
using ledger::LogCheckpoint;
using ledger::Mode;
using ledger::ReadOnlyLedger;
using ledger::StoredReading;
using quantity::ErrorKind;
namespace fs = std::filesystem;

namespace {

EntryRow entry(int number) {
  return {{}, "step-done", "fern-07", at(number), at(number), {}, std::to_string(number)};
}

ReadOnlyLedger open_read_only(const fs::path& file) {
  auto opened = ReadOnlyLedger::open(file);
  REQUIRE(opened.has_value());
  return std::move(*opened);
}

quantity::Result<void> back_up(const fs::path& file, const fs::path& copy) {
  return open_read_only(file).backup_to(copy);
}

}  // namespace

TEST_CASE("a transaction that is not committed leaves nothing and is logged", "[upkeep]") {
  std::vector<std::string> log;
  auto opened = Ledger::open(":memory:", Mode::live, [&](std::string_view what) { log.emplace_back(what); });
  REQUIRE(opened.has_value());
  auto& book = *opened;
  {
    auto undone = book.begin();
    (void)book.append(entry(1));
    CHECK_THROWS_AS(book.begin(), std::logic_error);
  }
  CHECK(book.entries().empty());
  REQUIRE(log.size() == 1);
  CHECK_THAT(log[0], Catch::Contains("rolled back"));
  auto done = book.begin();
  (void)book.append(entry(2));
  done.commit();
  CHECK(book.entries().size() == 1);
  CHECK(log.size() == 1);
}

TEST_CASE("a backup is a whole ledger of its own", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  (void)book.append(entry(1));
  book.set_inbox_mark({5, 6});
  REQUIRE(back_up(folder / "ledger.db", folder / "backup.db").has_value());
  CHECK_FALSE(fs::exists(folder / "backup.db.part"));
  auto copy = open_ledger(folder / "backup.db");
  CHECK(copy.entries() == book.entries());
  CHECK(copy.inbox_mark() == book.inbox_mark());
  CHECK(copy.mode() == Mode::live);
  CHECK(Outsider(folder / "backup.db").answer("PRAGMA auto_vacuum") == "2");
}

TEST_CASE("a backup writes over nothing, the ledger least of all", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  { std::ofstream(folder / "precious") << "mine"; }
  const auto refused = back_up(folder / "ledger.db", folder / "precious");
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().kind == ErrorKind::refused);
  CHECK(fs::file_size(folder / "precious") == 4);
  CHECK_FALSE(back_up(folder / "ledger.db", folder / "ledger.db").has_value());
  CHECK(back_up(folder / "ledger.db", folder / "no/such/backup.db").error().kind == ErrorKind::not_found);
  { std::ofstream(folder / "b.db.part") << "left by a backup that was killed"; }
  CHECK(back_up(folder / "ledger.db", folder / "b.db").has_value());
}

TEST_CASE("a backup made while entries come in is one moment of the ledger", "[upkeep]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  for (int i = 1; i <= 200; ++i)
    (void)book.append(entry(i));
  std::atomic<int> made = 0;
  std::atomic<bool> stop = false;
  std::thread reader([&] {
    const auto second = ReadOnlyLedger::open(file);
    while (second && !stop.load()) {
      const auto done = (*second).backup_to(folder / ("backup" + std::to_string(made.load())));
      if (!done) return;
      ++made;
    }
  });
  int last = 200;
  while (made.load() < 3 && last < 20000)
    (void)book.append(entry(++last));
  stop = true;
  reader.join();
  REQUIRE(made.load() >= 3);
  for (int i = 0; i < made.load(); ++i) {
    auto copy = open_ledger(folder / ("backup" + std::to_string(i)));
    const auto rows = copy.entries();
    REQUIRE(rows.size() >= 200);
    CHECK(rows.back().body == std::to_string(rows.size()));
  }
  CHECK(book.entries().size() == static_cast<std::size_t>(last));
}

TEST_CASE("the log is emptied when nobody reads and left when somebody does, without waiting", "[upkeep]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  (void)book.append(entry(1));
  CHECK(book.sizes().log > 0);
  {
    Outsider reader(file);
    reader.run("BEGIN; SELECT count(*) FROM entry");
    (void)book.append(entry(2));
    CHECK(book.checkpoint_wal() == LogCheckpoint::busy);
    reader.run("COMMIT");
  }
  CHECK(book.checkpoint_wal() == LogCheckpoint::emptied);
  CHECK(book.sizes().log == 0);
}

TEST_CASE("our own readers never keep the log from being emptied", "[upkeep]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  (void)book.append(entry(1));
  const auto second = open_read_only(file);
  CHECK(second.entries().size() == 1);
  (void)book.append(entry(2));
  (void)book.entries();
  CHECK(book.checkpoint_wal() == LogCheckpoint::emptied);
}

TEST_CASE("unused pages are given back a few at a time", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  {
    auto change = book.begin();
    const auto coat = book.append(entry(1));
    for (int i = 0; i < 100; ++i)
      book.save_checkpoint(coat, at(i), 1, std::string(8000, 'x'));
    change.commit();
    book.drop_checkpoints(coat);
  }
  const auto before = book.sizes();
  REQUIRE(before.unused > 100 * 4096);
  book.give_back(10);
  CHECK(book.sizes().unused == before.unused - 10 * 4096);
  CHECK(book.sizes().database == before.database - 10 * 4096);
}

TEST_CASE("the reader's connection sees what was committed and changes nothing", "[upkeep]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  const auto channel = book.channel_number(quantity::ChannelId("bench/air-temperature"));
  StoredReading reading;
  reading.channel = channel;
  reading.decoded.measured = at(1);
  reading.decoded.received = at(1);
  reading.decoded.topic = "t";
  (void)book.put(reading);
  (void)book.edition_of(quantity::SheetId("resin"), "f", "text", at(0));
  const auto second = open_read_only(file);
  {
    auto open = book.begin();
    (void)book.append(entry(1));
    CHECK(second.entries().empty());
    open.commit();
  }
  CHECK(second.entries() == book.entries());
  CHECK(second.channels() == book.channels());
  CHECK(second.editions() == book.editions());
  CHECK(second.mode() == Mode::live);
  int seen = 0;
  second.visit_readings(channel, Instant::min(), Instant::max(), [&](const StoredReading& row) {
    CHECK(row.decoded.measured == at(1));
    ++seen;
    return true;
  });
  CHECK(seen == 1);
  CHECK(second.quick_check().has_value());
}

TEST_CASE("the first trusted readings of a span are read alone", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  const auto channel = book.channel_number(quantity::ChannelId("bench/air-temperature"));
  for (int i = 0; i < 10; ++i) {
    StoredReading reading;
    reading.channel = channel;
    reading.decoded.measured = at(i);
    reading.decoded.received = at(i);
    reading.decoded.topic = "t";
    reading.verdict.judged = i != 1;
    (void)book.put(reading);
  }
  const auto records = open_read_only(folder / "ledger.db");
  const auto rows = records.trusted(channel, at(0), at(10), 3);
  REQUIRE(rows.size() == 3);
  CHECK(rows.back().measured == at(3));
  CHECK(records.trusted(channel, at(8), at(10), 3).size() == 2);
  CHECK(records.reading_count() == 10);
  CHECK(records.entry_count() == 0);
}

TEST_CASE("a reader that is to give up leaves no copy behind, and the ledger as it was", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  {
    auto change = book.begin();
    for (int i = 1; i <= 5000; ++i)
      (void)book.append(entry(i));
    change.commit();
  }
  std::atomic<bool> give_up = false;
  const auto records = ReadOnlyLedger::open(folder / "ledger.db", &give_up);
  REQUIRE(records.has_value());
  give_up = true;
  const auto done = records->backup_to(folder / "b.db");
  REQUIRE_FALSE(done.has_value());
  CHECK_THAT(done.error().detail, Catch::Contains("stopping"));
  CHECK_FALSE(fs::exists(folder / "b.db"));
  CHECK_FALSE(fs::exists(folder / "b.db.part"));
  give_up = false;
  CHECK(records->backup_to(folder / "b.db").has_value());
  CHECK(open_ledger(folder / "b.db").entries() == book.entries());
}

TEST_CASE("a backup whose disk refuses ends in a sentence and leaves nothing", "[upkeep]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  // A folder where the unfinished copy would go: nothing can be written there.
  fs::create_directories(folder / "b.db.part" / "in the way");
  const auto done = back_up(folder / "ledger.db", folder / "b.db");
  REQUIRE_FALSE(done.has_value());
  CHECK_FALSE(fs::exists(folder / "b.db"));
}

}  // namespace setwell::ledger_test
