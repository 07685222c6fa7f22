#include <catch2/catch.hpp>

#include "daemon/ledger/fingerprint.hpp"
#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::EntryRow;
using quantity::EditionId;
using quantity::EntryId;
using quantity::SheetId;

namespace {

EntryRow entry(const std::string& kind, Instant happened) {
  return {EntryId(), kind, "fern-07", at(100), happened, std::chrono::minutes(5), R"({"v":1})"};
}

}  // namespace

TEST_CASE("entries come back as they were appended, in the order they were said", "[ledger]") {
  auto book = open_ledger();
  auto first = entry("coat-made", at(50));
  auto second = entry("touch-tested", at(10));
  first.id = book.append(first);
  second.id = book.append(second);
  CHECK(book.entries() == std::vector<EntryRow>{first, second});
  CHECK(book.entries_after(first.id) == std::vector<EntryRow>{second});
  CHECK(book.entries_after(second.id).empty());
}

TEST_CASE("an entry's number is never given twice, not even after a rollback of everything later",
          "[ledger]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  const auto first = book.append(entry("coat-made", at(50)));
  {
    auto lost = book.begin();
    (void)book.append(entry("coat-made", at(51)));
  }
  CHECK(book.entries().size() == 1);
  CHECK(book.append(entry("coat-made", at(52))).value() > first.value());
}

TEST_CASE("the database itself refuses to change or delete an entry", "[ledger]") {
  TempDir folder;
  auto book = open_ledger(folder / "ledger.db");
  (void)book.append(entry("coat-made", at(50)));
  Outsider outsider(folder / "ledger.db");
  CHECK_THROWS_WITH(outsider.run("UPDATE entry SET piece = 'other'"), Catch::Contains("never changed"));
  CHECK_THROWS_WITH(outsider.run("DELETE FROM entry"), Catch::Contains("never deleted"));
}

TEST_CASE("the same text of a sheet is one edition; another text is another", "[ledger]") {
  auto book = open_ledger();
  const SheetId sheet("resin");
  const auto first = book.edition_of(sheet, ledger::fingerprint("a"), "a", at(0));
  CHECK(book.edition_of(sheet, ledger::fingerprint("a"), "a", at(10)) == first);
  const auto second = book.edition_of(sheet, ledger::fingerprint("b"), "b", at(20));
  CHECK(second != first);
  CHECK(book.edition_of(SheetId("other"), ledger::fingerprint("a"), "a", at(30)) != first);
  REQUIRE(book.edition(first));
  CHECK(book.edition(first)->text == "a");
  CHECK(book.edition(first)->loaded_at == at(0));
  REQUIRE(book.newest_edition(sheet));
  CHECK(book.newest_edition(sheet)->id == second);
  CHECK(book.editions().size() == 3);
  CHECK_FALSE(book.edition(EditionId(99)));
  CHECK_FALSE(book.newest_edition(SheetId("none")));
}

TEST_CASE("fingerprints are SHA-256, as the standard's own examples", "[ledger]") {
  CHECK(ledger::fingerprint("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(ledger::fingerprint("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("a checkpoint is found by coat, time and engine, and dropped from a time on", "[ledger]") {
  auto book = open_ledger();
  const auto coat = book.append(entry("coat-made", at(0)));
  const auto other = book.append(entry("coat-made", at(0)));
  const std::string bytes("\0one\xff", 5);
  book.save_checkpoint(coat, at(100), 1, bytes);
  book.save_checkpoint(coat, at(200), 1, "two");
  book.save_checkpoint(coat, at(200), 2, "of another engine");
  book.save_checkpoint(other, at(150), 1, "other");
  CHECK_FALSE(book.checkpoint_at_or_before(coat, at(99), 1));
  REQUIRE(book.checkpoint_at_or_before(coat, at(199), 1));
  CHECK(book.checkpoint_at_or_before(coat, at(199), 1)->blob == bytes);
  CHECK(book.checkpoint_at_or_before(coat, at(200), 1)->blob == "two");
  CHECK(book.checkpoint_at_or_before(coat, at(999), 2)->blob == "of another engine");
  book.save_checkpoint(coat, at(200), 1, "two again");
  CHECK(book.checkpoint_at_or_before(coat, at(200), 1)->blob == "two again");

  book.drop_checkpoints_after(coat, at(100));
  CHECK(book.checkpoint_at_or_before(coat, at(999), 1)->at == at(100));
  CHECK_FALSE(book.checkpoint_at_or_before(coat, at(999), 2));
  book.drop_checkpoints(coat);
  CHECK_FALSE(book.checkpoint_at_or_before(coat, at(999), 1));
  CHECK(book.checkpoint_at_or_before(other, at(999), 1));
}

TEST_CASE("a checkpoint of a coat that nobody entered is refused", "[ledger]") {
  auto book = open_ledger();
  CHECK_THROWS(book.save_checkpoint(EntryId(7), at(0), 1, "x"));
}

TEST_CASE("memos and the inbox's mark are kept and replaced", "[ledger]") {
  auto book = open_ledger();
  CHECK_FALSE(book.memo("filters"));
  book.set_memo("filters", "bench/air");
  book.set_memo("filters", "rack/air");
  CHECK(book.memo("filters") == "rack/air");
  CHECK(book.inbox_mark() == ledger::InboxMark{});
  const ledger::InboxMark mark{0xfedcba9876543210U, 41};
  book.set_inbox_mark(mark);
  CHECK(book.inbox_mark() == mark);
}

}  // namespace setwell::ledger_test
