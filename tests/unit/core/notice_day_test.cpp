#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/unit/core/notice_book.hpp"

/// The day as a whole: what waited for the morning, what was not logged, limits to begin and to end at.
namespace setwell::core {
namespace {

NoticeFact morning_of(Instant since) {
  auto made = fact(NoticeKind::morning_list, Standing::holds, since, "day");
  made.content.pieces.clear();
  made.content.coats.clear();
  made.content.list = {{{PieceId("cup-2")}, "recoat with Clear 12", since, since + hours(3)}};
  made.useless_after = since + hours(2);
  return made;
}

NoticeFact unlogged(const std::string& subject) {
  auto made = fact(NoticeKind::not_logged, Standing::holds, at(21 * 60 + 30), subject);
  made.content.list = {{{made.content.pieces}, "recoat with Clear 12", at(kNoon), at(15 * 60)}};
  return made;
}

}  // namespace

TEST_CASE("what lies between the limit to begin at and the one to end at stays as it was") {
  Book book;
  CHECK(book.round({fact(kCold, Standing::wavers, at(kNoon))}, at(kNoon)).tell.empty());
  book.round({fact(kCold, Standing::holds, at(kNoon))}, at(kNoon));
  CHECK(book.round({fact(kCold, Standing::holds, at(kNoon))}, at(kNoon + 2)).tell.size() == 1);
  book.round({fact(kCold, Standing::wavers, at(kNoon + 3))}, at(kNoon + 3));
  CHECK(book.phase(kCold) == NoticePhase::told);
  CHECK(book.round({fact(kCold, Standing::holds, at(kNoon + 50))}, at(kNoon + 50)).tell.empty());
  book.round({fact(kCold, Standing::over, at(kNoon + 60))}, at(kNoon + 60));
  CHECK(book.phase(kCold) == NoticePhase::over);
}

TEST_CASE("a limit that is looked at every few seconds is told all the same, since it was first broken") {
  Book book;
  std::vector<Telling> told;
  for (int i = 0; i <= 30; ++i) {
    const auto now = at(kNoon) + seconds(10) * i;
    const auto round = book.round({fact(kCold, Standing::holds, now)}, now);
    told.insert(told.end(), round.tell.begin(), round.tell.end());
  }
  REQUIRE(told.size() == 1);
  CHECK(told[0].fact.since == at(kNoon));
}

TEST_CASE("what waited for the end of quiet hours is told as part of the morning list") {
  Book book;
  const auto night = fact(kSafe, Standing::holds, at(25 * 60));
  CHECK(book.round({night}, at(25 * 60)).tell.empty());
  const auto round = book.round({night, morning_of(at(31 * 60))}, at(31 * 60));
  REQUIRE(round.tell.size() == 1);
  CHECK(round.tell[0].fact.kind == NoticeKind::morning_list);
  REQUIRE(round.tell[0].with.size() == 1);
  CHECK(round.tell[0].with[0].fact.kind == kSafe);
  CHECK(book.phase(kSafe) == NoticePhase::told);
  CHECK(book.round({night, morning_of(at(31 * 60))}, at(31 * 60 + 1)).tell.empty());
}

TEST_CASE("what becomes true in the morning itself is told beside the list, and corrections are too") {
  Book book;
  book.round({fact(NoticeKind::packing, Standing::holds, at(kNoon))}, at(kNoon));
  const auto round = book.round({fact(kSafe, Standing::holds, at(31 * 60)), morning_of(at(31 * 60)),
                                 fact(NoticeKind::packing, Standing::not_yet, at(24 * 60))},
                                at(31 * 60));
  REQUIRE(round.tell.size() == 3);
  CHECK(std::all_of(round.tell.begin(), round.tell.end(),
                    [](const Telling& each) { return each.with.empty(); }));
}

TEST_CASE("the morning list is told once a day") {
  Book book;
  CHECK(book.round({morning_of(at(7 * 60))}, at(7 * 60)).tell.size() == 1);
  CHECK(book.round({morning_of(at(7 * 60))}, at(8 * 60)).tell.empty());
  book.round({}, at(kNoon));
  CHECK(book.round({morning_of(at(31 * 60))}, at(31 * 60)).tell.size() == 1);
}

TEST_CASE("all that was not logged is one question, with a line for each piece or one for those alike") {
  Book book;
  auto other = unlogged("coat/43");
  other.content.list[0].act = "recoat with Blue";
  const auto round = book.round({unlogged("coat/41"), unlogged("coat/42"), other}, at(21 * 60 + 30));
  REQUIRE(round.tell.size() == 1);
  CHECK(round.tell[0].fact.content.pieces.size() == 3);
  REQUIRE(round.tell[0].fact.content.list.size() == 2);
  CHECK(round.tell[0].fact.content.list[0].pieces.size() == 2);
}

}  // namespace setwell::core
