#include <random>
#include <set>

#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"
#include "tests/support/shim_disk.hpp"

/// A disk that refuses at any one moment, and a power cut at any one moment, beneath the real files.
namespace setwell::ledger_test {

using ledger::Inbox;
using ledger::InboxOptions;
using ledger::Ledger;
using std::chrono::milliseconds;
using test_support::ShimDisk;

namespace {

InboxOptions patient(int& pauses) {
  InboxOptions options;
  options.reserve_bytes = 0;
  options.sleep = [&pauses](milliseconds) { ++pauses; };
  return options;
}

/// How often each payload lies in the inbox.
std::multiset<std::string> payloads(const std::filesystem::path& file) {
  std::multiset<std::string> found;
  for (const auto& row : open_reader(file).read(0, 100'000))
    found.insert(row.payload);
  return found;
}

bool sound(const std::filesystem::path& file) {
  return Outsider(file).answer("PRAGMA integrity_check") == "ok";
}

/// Keeps `count` messages with the `nth` call of the disk (and `more` after it) refused, then looks at what
/// is there. Answers whether any call was refused.
bool keeps_all_with_a_fault(int nth, int code, int more) {
  TempDir folder;
  const auto file = folder / "inbox.db";
  bool refused = false;
  int pauses = 0;
  {
    ShimDisk disk;
    auto inbox = open_inbox(file, patient(pauses));
    inbox->keep(message("0"));
    disk.fail_at(nth, code, more);
    for (int number = 1; number <= 3; ++number)
      inbox->keep(message(std::to_string(number)));
    refused = disk.refused();
    disk.heal();
    CHECK_FALSE(inbox->waiting_for_storage());
    inbox->keep(message("4"));
  }
  CHECK(payloads(file) == std::multiset<std::string>{"0", "1", "2", "3", "4"});
  CHECK(sound(file));
  return refused;
}

}  // namespace

TEST_CASE("whichever call of the disk fails, each message is kept once and none is passed over", "[disk]") {
  for (const int code : {SQLITE_IOERR_WRITE, SQLITE_FULL, SQLITE_IOERR_FSYNC}) {
    for (const int more : {0, 7}) {
      int nth = 1;
      while (true) {
        INFO("call " << nth << " and " << more << " more, code " << code);
        if (!keeps_all_with_a_fault(nth, code, more)) break;
        ++nth;
      }
      // The path has that many calls: each was refused once.
      CHECK(nth > 5);
    }
  }
}

TEST_CASE("whichever call of the disk fails, an entry is stored whole or not at all", "[disk]") {
  int nth = 1;
  int whole = 0;
  int nothing = 0;
  for (bool refused = true; refused; ++nth) {
    TempDir folder;
    const auto file = folder / "ledger.db";
    bool said_stored = false;
    INFO("call " << nth);
    {
      ShimDisk disk;
      auto book = open_ledger(file);
      disk.fail_at(nth, SQLITE_IOERR_WRITE);
      try {
        auto transaction = book.begin();
        book.set_memo("first", "half");
        book.set_memo("second", "half");
        transaction.commit();
        said_stored = true;
      } catch (const std::exception& thrown) {
        CHECK(ledger::storage_fault(thrown) != ledger::StorageFault::none);
      }
      refused = disk.refused();
      disk.heal();
    }
    auto again = open_ledger(file);
    const auto first = again.memo("first");
    CHECK(first == again.memo("second"));
    CHECK(first.has_value() == said_stored);
    CHECK(again.quick_check().has_value());
    ++(said_stored ? whole : nothing);
  }
  CHECK(nothing >= 3);
  CHECK(whole > 0);
}

TEST_CASE(
    "whichever call of the disk fails while a ledger is made or brought up to date, the next start goes on",
    "[disk]") {
  int refusals = 0;
  bool refused = true;
  for (int nth = 1; refused; ++nth) {
    INFO("call " << nth);
    TempDir folder;
    const auto file = folder / "ledger.db";
    std::filesystem::copy_file(std::filesystem::path(SETWELL_TEST_DATA) / "ledger" / "v001.db",
                               folder / "old.db");
    for (const auto& each : {file, folder / "old.db"}) {
      ShimDisk disk;
      disk.fail_at(nth, SQLITE_IOERR_WRITE);
      const auto opened = Ledger::open(each, ledger::Mode::live);
      refused = disk.refused();
      if (!opened) {
        CHECK_THAT(opened.error().detail, Catch::Contains(each.string()));
        ++refusals;
      }
    }
    auto made = open_ledger(file);
    made.set_memo("it", "goes on");
    CHECK(made.quick_check().has_value());
    CHECK(open_ledger(folder / "old.db").quick_check().has_value());
  }
  CHECK(refusals > 5);
}

namespace {

/// One moment at which the power may go: what had been acknowledged by then.
struct Cut {
  TempDir folder;
  int acknowledged = 0;
};

std::bernoulli_distribution kept_share(int cut) {
  // Nothing unflushed survives, everything does, or each write by chance.
  const double shares[] = {0.0, 1.0, 0.5};
  return std::bernoulli_distribution(shares[cut % 3]);
}

}  // namespace

TEST_CASE("a power cut at any moment loses nothing that was acknowledged", "[disk]") {
  std::mt19937 chance(7);
  TempDir folder;
  std::vector<std::unique_ptr<Cut>> cuts;
  int acknowledged = 0;
  {
    ShimDisk disk;
    int pauses = 0;
    auto inbox = open_inbox(folder / "inbox.db", patient(pauses));
    disk.before_call = [&](std::int64_t) {
      if (chance() % 4 != 0) return;
      auto cut = std::make_unique<Cut>();
      cut->acknowledged = acknowledged;
      auto share = kept_share(static_cast<int>(cuts.size()));
      disk.lose_power(cut->folder.path(), [&] { return share(chance); });
      cuts.push_back(std::move(cut));
    };
    for (int number = 1; number <= 120; ++number) {
      inbox->keep(message(std::to_string(number)));
      acknowledged = number;
      // Many a reading makes the log so long that it is written back into the file under way.
      if (number % 40 == 0) Outsider(folder / "inbox.db").run("PRAGMA wal_checkpoint(TRUNCATE)");
    }
    disk.before_call = nullptr;
  }
  REQUIRE(cuts.size() > 100);
  for (const auto& cut : cuts) {
    INFO("after " << cut->acknowledged << " acknowledged");
    const auto file = cut->folder / "inbox.db";
    CHECK(sound(file));
    int pauses = 0;
    open_inbox(file, patient(pauses))->keep(message("next"));
    const auto found = payloads(file);
    for (int number = 1; number <= cut->acknowledged; ++number)
      CHECK(found.count(std::to_string(number)) == 1);
    CHECK(found.count("next") == 1);
  }
}

TEST_CASE("the same power cuts do lose what a laxer setting acknowledged", "[disk]") {
  TempDir folder;
  TempDir after;
  {
    ShimDisk disk;
    Outsider database(folder / "lax.db");
    database.run("PRAGMA journal_mode = WAL; CREATE TABLE t (n INTEGER); PRAGMA synchronous = NORMAL");
    database.run("INSERT INTO t VALUES (1)");
    disk.lose_power(after.path(), [] { return false; });
  }
  const auto tables = Outsider(after / "lax.db").answer("SELECT count(*) FROM sqlite_schema");
  const auto rows = tables == "1" ? Outsider(after / "lax.db").answer("SELECT count(*) FROM t") : "0";
  CHECK(rows == "0");
}

TEST_CASE("a power cut at any moment leaves a ledger of whole transactions", "[disk]") {
  std::mt19937 chance(11);
  TempDir folder;
  std::vector<std::unique_ptr<Cut>> cuts;
  int committed = 0;
  {
    ShimDisk disk;
    auto book = open_ledger(folder / "ledger.db");
    disk.before_call = [&](std::int64_t) {
      if (chance() % 8 != 0) return;
      auto cut = std::make_unique<Cut>();
      cut->acknowledged = committed;
      auto share = kept_share(static_cast<int>(cuts.size()));
      disk.lose_power(cut->folder.path(), [&] { return share(chance); });
      cuts.push_back(std::move(cut));
    };
    for (int number = 1; number <= 60; ++number) {
      auto transaction = book.begin();
      book.set_memo("first", std::to_string(number));
      book.set_memo("second", std::to_string(number));
      transaction.commit();
      committed = number;
      if (number % 20 == 0) (void)book.checkpoint_wal();
    }
    disk.before_call = nullptr;
  }
  REQUIRE(cuts.size() > 30);
  for (const auto& cut : cuts) {
    auto book = open_ledger(cut->folder / "ledger.db");
    const auto first = book.memo("first");
    CHECK(first == book.memo("second"));
    CHECK(std::stoi(first.value_or("0")) >= cut->acknowledged);
    CHECK(book.quick_check().has_value());
  }
}

}  // namespace setwell::ledger_test
