#include <cstdlib>
#include <fstream>

#include <catch2/catch.hpp>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/ledger/read_only_ledger.hpp"
#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::Inbox;
using ledger::InboxReader;
using ledger::Ledger;
using ledger::Mode;
using ledger::ReadOnlyLedger;
using quantity::ChannelId;
using quantity::ErrorKind;
namespace fs = std::filesystem;

namespace {

quantity::Error error_of(const fs::path& file, Mode mode = Mode::live) {
  const auto opened = Ledger::open(file, mode);
  REQUIRE_FALSE(opened.has_value());
  return opened.error();
}

/// What every stored database of an earlier version holds.
void fill(Ledger& book) {
  auto change = book.begin();
  const auto coat =
      book.append({{}, "coat-made", "fern-07", at(0), at(-60), std::chrono::minutes(5), R"({"v":1})"});
  (void)book.edition_of(quantity::SheetId("resin"), std::string(64, 'a'), "text", at(0));
  const auto channel = book.channel_number(ChannelId("bench/air-temperature"));
  for (int i = 0; i < 100; ++i) {
    ledger::StoredReading reading;
    reading.channel = channel;
    reading.decoded.value = 20.0 + 0.01 * i;
    reading.decoded.number = reading.decoded.value;
    reading.decoded.measured = at(10 * i);
    reading.decoded.received = at(10 * i + 1);
    reading.decoded.topic = "bench/air";
    reading.verdict.judged = true;
    (void)book.put(reading);
  }
  book.put_refused({"bench/air-temperature", "bench/air", at(1), quantity::Refusal::not_json, "{", 1});
  book.set_channel_state(channel, {at(991), at(991), at(991), 20.99, 1, std::nullopt, true});
  book.set_inbox_mark({77, 100});
  book.save_checkpoint(coat, at(500), 1, "state");
  book.put_notice_state({"coat/1", "closed", "told", at(9), at(9), 1, ""});
  (void)book.append_notice(
      {0, "coat/1", "closed", "fern-07", "t", "b", "", 1, at(9), std::nullopt, std::nullopt});
  (void)book.outbox().enqueue({quantity::RouteId("log"), "coat/1/closed/1", "body", at(9), "", std::nullopt});
  book.set_memo("filters", "bench/air");
  change.commit();
}

void check_filled(Ledger& book) {
  REQUIRE(book.entries().size() == 1);
  CHECK(book.entries().front().piece == "fern-07");
  const auto channel = book.channel_number(ChannelId("bench/air-temperature"));
  CHECK(book.reading_count(channel) == 100);
  CHECK(book.trusted(channel, at(0), at(5000)).size() == 100);
  CHECK(book.newest(channel)->decoded.received == at(991));
  CHECK(book.edition(quantity::EditionId(1))->text == "text");
  CHECK(book.refused_counts().size() == 1);
  CHECK(book.channel_state(channel).last_value == 20.99);
  CHECK(book.inbox_mark() == ledger::InboxMark{77, 100});
  CHECK(book.checkpoint_at_or_before(book.entries().front().id, at(600), 1)->blob == "state");
  CHECK(book.notice_states().size() == 1);
  CHECK(book.open_notices().size() == 1);
  CHECK(book.outbox().due(quantity::RouteId("log"), at(9), 5).size() == 1);
  CHECK(book.memo("filters") == "bench/air");
  CHECK(book.quick_check().has_value());
}

void overwrite(const fs::path& file, std::streamoff from, std::size_t bytes) {
  std::fstream stream(file, std::ios::in | std::ios::out | std::ios::binary);
  stream.seekp(from);
  stream << std::string(bytes, '\0');
}

/// A closed ledger that fills a good many pages, all in the one file.
fs::path large_ledger(const TempDir& folder) {
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  fill(book);
  auto change = book.begin();
  for (int i = 0; i < 2000; ++i)
    (void)book.append({{}, "step-done", "fern-07", at(i), at(i), {}, std::string(100, 'x')});
  change.commit();
  return file;
}

}  // namespace

TEST_CASE("a ledger goes on where it was left", "[opening]") {
  TempDir folder;
  {
    auto book = open_ledger(folder / "ledger.db");
    fill(book);
  }
  auto book = open_ledger(folder / "ledger.db");
  check_filled(book);
  CHECK(book.mode() == Mode::live);
}

TEST_CASE("a ledger is made as a file that can shrink, with a log, for us alone to know", "[opening]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  Outsider outsider(folder / "ledger.db");
  CHECK(outsider.answer("PRAGMA auto_vacuum") == "2");
  CHECK(outsider.answer("PRAGMA journal_mode") == "wal");
  CHECK(outsider.answer("PRAGMA application_id") == "1399157879");
  CHECK(std::stoi(outsider.answer("PRAGMA user_version")) >= 2);
  CHECK(outsider.answer("SELECT count(*) FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND "
                        "strict = 0 AND name NOT LIKE 'sqlite_%'") == "0");
}

TEST_CASE("a database of a newer program is refused, and the way out named", "[opening]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  { auto book = open_ledger(file); }
  { Outsider(file).run("PRAGMA user_version = 999"); }
  const auto error = error_of(file);
  CHECK(error.kind == ErrorKind::invalid);
  CHECK_THAT(error.detail,
             Catch::Contains("newer setwelld") && Catch::Contains("999") && Catch::Contains("install"));
  CHECK(Outsider(file).answer("PRAGMA user_version") == "999");
}

TEST_CASE("either mode refuses the other's ledger", "[opening]") {
  TempDir folder;
  { REQUIRE(Ledger::open(folder / "live.db", Mode::live).has_value()); }
  { REQUIRE(Ledger::open(folder / "rehearsal.db", Mode::rehearsal).has_value()); }
  const auto into_live = error_of(folder / "live.db", Mode::rehearsal);
  CHECK(into_live.kind == ErrorKind::refused);
  CHECK_THAT(into_live.detail, Catch::Contains("live workshop's"));
  CHECK_THAT(error_of(folder / "rehearsal.db", Mode::live).detail, Catch::Contains("rehearsal's"));
  CHECK(Ledger::open(folder / "rehearsal.db", Mode::rehearsal).has_value());
}

TEST_CASE("a database that is not ours is left alone", "[opening]") {
  TempDir folder;
  const auto file = folder / "other.db";
  { Outsider(file).run("CREATE TABLE mine (x)"); }
  CHECK_THAT(error_of(file).detail, Catch::Contains("not Setwell's ledger"));
  CHECK(Outsider(file).answer("SELECT group_concat(name) FROM sqlite_schema") == "mine");
  (void)open_inbox(folder / "inbox.db");
  CHECK_THAT(error_of(folder / "inbox.db").detail, Catch::Contains("not Setwell's ledger"));
}

TEST_CASE("a file that is no database is named as such", "[opening]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  std::ofstream(file) << std::string(5000, 'x');
  const auto error = error_of(file);
  CHECK(error.kind == ErrorKind::invalid);
  CHECK_THAT(error.detail, Catch::Contains("no database") && Catch::Contains("backup"));
  CHECK_THAT(Inbox::open(file, {}).error().detail, Catch::Contains("no database"));
}

TEST_CASE("where nothing can be made the folder is named", "[opening]") {
  TempDir folder;
  const auto error = error_of(folder / "no/such/ledger.db");
  CHECK(error.kind == ErrorKind::not_found);
  CHECK_THAT(error.detail, Catch::Contains("no/such/ledger.db") && Catch::Contains("folder"));
  CHECK(ReadOnlyLedger::open(folder / "none.db").error().kind == ErrorKind::not_found);
  CHECK_FALSE(fs::exists(folder / "none.db"));
  CHECK(InboxReader::open(folder / "none.db").error().kind == ErrorKind::not_found);
}

TEST_CASE("a truncated ledger is refused with what to do", "[opening]") {
  TempDir folder;
  const auto file = large_ledger(folder);
  fs::resize_file(file, fs::file_size(file) / 2);
  const auto error = error_of(file);
  CHECK(error.kind == ErrorKind::invalid);
  CHECK_THAT(error.detail, Catch::Contains("damaged") && Catch::Contains("backup"));
}

TEST_CASE("a ledger whose first page is lost is refused with what to do", "[opening]") {
  TempDir folder;
  const auto file = large_ledger(folder);
  overwrite(file, 0, 4096);
  CHECK_THAT(error_of(file).detail, Catch::Contains("damaged") && Catch::Contains("backup"));
}

TEST_CASE("a lost page inside is found by the check, read or not", "[opening]") {
  TempDir folder;
  const auto file = large_ledger(folder);
  const auto pages = fs::file_size(file) / 4096;
  REQUIRE(pages > 40);
  int found = 0;
  for (const auto page : {pages / 4, pages / 2, pages - 2}) {
    const auto copy = folder / ("copy" + std::to_string(page) + ".db");
    fs::copy_file(file, copy);
    overwrite(copy, static_cast<std::streamoff>(4096 * page), 4096);
    auto book = Ledger::open(copy, Mode::live);
    if (!book) {
      CHECK_THAT(book.error().detail, Catch::Contains("damaged"));
      continue;
    }
    const auto checked = (*book).quick_check();
    REQUIRE_FALSE(checked.has_value());
    CHECK(checked.error().kind == ErrorKind::invalid);
    CHECK_THAT(checked.error().detail, Catch::Contains("damaged") && Catch::Contains("backup"));
    const auto records = ReadOnlyLedger::open(copy);
    CHECK_FALSE((records.has_value() && records->backup_to(folder / "backup.db").has_value()));
    CHECK_FALSE(fs::exists(folder / "backup.db"));
    CHECK_FALSE(fs::exists(folder / "backup.db.part"));
    ++found;
  }
  CHECK(found > 0);
}

TEST_CASE("reading a lost page is a fault that names itself", "[opening]") {
  TempDir folder;
  const auto file = large_ledger(folder);
  const auto pages = fs::file_size(file) / 4096;
  for (auto page = pages / 2; page < pages / 2 + 8; ++page)
    overwrite(file, static_cast<std::streamoff>(4096 * page), 4096);
  auto book = open_ledger(file);
  try {
    (void)book.entries();
    FAIL("entries on a lost page were read");
  } catch (const std::exception& thrown) {
    CHECK(ledger::storage_fault(thrown) == ledger::StorageFault::damaged);
  }
}

TEST_CASE("a file of no bytes becomes a ledger", "[opening]") {
  TempDir folder;
  { std::ofstream(folder / "ledger.db"); }
  auto book = open_ledger(folder / "ledger.db");
  fill(book);
  check_filled(book);
}

TEST_CASE("a second process may read, and one that holds the ledger for 3 s loses nothing of ours",
          "[opening]") {
  TempDir folder;
  const auto file = folder / "ledger.db";
  auto book = open_ledger(file);
  int ready[2];
  REQUIRE(::pipe(ready) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    Outsider other(file);
    other.run("BEGIN IMMEDIATE");
    (void)!::write(ready[1], "x", 1);
    ::sleep(3);
    other.run("INSERT INTO memo VALUES ('from', 'outside'); COMMIT");
    ::_exit(0);
  }
  char byte = 0;
  REQUIRE(::read(ready[0], &byte, 1) == 1);
  book.set_memo("from-us", "inside");
  int status = 0;
  ::waitpid(child, &status, 0);
  CHECK(status == 0);
  CHECK(book.memo("from-us") == "inside");
  CHECK(book.memo("from") == "outside");
  ::close(ready[0]);
  ::close(ready[1]);
}

TEST_CASE("every earlier version of the ledger that was ever stored opens and means the same", "[opening]") {
  const fs::path stored = fs::path(SETWELL_TEST_DATA) / "ledger";
  TempDir folder;
  { auto fresh = open_ledger(folder / "fresh.db"); }
  const int versions = std::stoi(Outsider(folder / "fresh.db").answer("PRAGMA user_version"));
  for (int version = 1; version <= versions; ++version) {
    const auto name = (version < 10 ? "v00" : "v0") + std::to_string(version) + ".db";
    INFO(name);
    REQUIRE(fs::exists(stored / name));
    fs::copy_file(stored / name, folder / name);
    auto book = open_ledger(folder / name);
    check_filled(book);
  }
}

// Run by hand once per version of the schema: SETWELL_NEW_DATABASE=tests/data/ledger/v002.db test_ledger
// "[.new]"
TEST_CASE("a database of this version is written for keeps", "[.new]") {
  const char* file = std::getenv("SETWELL_NEW_DATABASE");
  REQUIRE(file != nullptr);
  auto book = open_ledger(file);
  fill(book);
  CHECK(book.checkpoint_wal() == ledger::LogCheckpoint::emptied);
}

}  // namespace setwell::ledger_test
