#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::NoticeRow;
using ledger::NoticeStateRow;

namespace {

NoticeRow notice(const std::string& subject, const std::string& kind) {
  NoticeRow made;
  made.subject = subject;
  made.kind = kind;
  made.piece = "fern-07";
  made.title = "fern-07: recoat";
  made.body = "until 14:00";
  made.extra = "{}";
  made.generation = 2;
  made.created = at(0);
  return made;
}

}  // namespace

TEST_CASE("what was told of a subject and kind is kept once and replaced", "[ledger]") {
  auto book = open_ledger();
  CHECK_FALSE(book.notice_state("coat/4", "closed"));
  NoticeStateRow row{"coat/4", "closed", "holding", at(0), std::nullopt, 0, ""};
  book.put_notice_state(row);
  row.state = "told";
  row.last_told = at(5);
  row.generation = 1;
  row.extra = R"({"pieces":["fern-07"]})";
  book.put_notice_state(row);
  const NoticeStateRow other{"broker", "broker-away", "idle", at(1), std::nullopt, 3, ""};
  book.put_notice_state(other);
  CHECK(book.notice_state("coat/4", "closed") == row);
  CHECK(book.notice_states() == std::vector<NoticeStateRow>{other, row});
}

TEST_CASE("a notice is open until it is seen or what it tells is over", "[ledger]") {
  auto book = open_ledger();
  auto first = notice("coat/4", "safe-to-recoat");
  auto second = notice("coat/5", "safe-to-recoat");
  auto third = notice("coat/5", "closed");
  first.id = book.append_notice(first);
  second.id = book.append_notice(second);
  third.id = book.append_notice(third);
  CHECK(book.open_notices() == std::vector<NoticeRow>{first, second, third});
  CHECK(book.notices(2) == std::vector<NoticeRow>{third, second});

  CHECK(book.mark_seen(first.id, at(7)));
  CHECK_FALSE(book.mark_seen(first.id, at(8)));
  CHECK_FALSE(book.mark_seen(99, at(8)));
  book.close_notices("coat/5", "safe-to-recoat", at(9));
  book.close_notices("coat/4", "safe-to-recoat", at(9));
  CHECK(book.open_notices() == std::vector<NoticeRow>{third});
  REQUIRE(book.notice(first.id));
  CHECK(book.notice(first.id)->seen == at(7));
  CHECK_FALSE(book.notice(first.id)->closed);
  CHECK(book.notice(second.id)->closed == at(9));
  CHECK_FALSE(book.notice(99));
}

}  // namespace setwell::ledger_test
