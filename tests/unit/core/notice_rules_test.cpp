#include <algorithm>
#include <map>
#include <random>
#include <string>

#include <catch2/catch.hpp>

#include "tests/unit/core/notice_book.hpp"

namespace setwell::core {
namespace {

NoticeFact window_of(const std::string& subject, Instant from, Instant until) {
  auto made = fact(kSafe, Standing::holds, from, subject);
  made.content.from = from;
  made.content.until = until;
  made.content.mix_by = until - minutes(15);
  return made;
}

}  // namespace

TEST_CASE("what is true already at start is told once, with its real beginning") {
  Book book;
  const std::vector facts{fact(kSafe, Standing::holds, at(6 * 60))};
  const auto first = book.round(facts, at(kNoon));
  REQUIRE(first.tell.size() == 1);
  CHECK(first.tell[0].fact.since == at(6 * 60));
  CHECK(first.tell[0].generation == 1);
  CHECK_FALSE(first.tell[0].withdrawal);
  CHECK(first.tell[0].subjects == std::vector<std::string>{"coat/41"});
}

TEST_CASE("twenty rounds over the same facts change nothing and tell nothing") {
  Book book;
  auto late = fact(NoticeKind::touch_test, Standing::holds, at(kNoon - 60));
  late.useless_after = at(kNoon - 30);
  const std::vector facts{
      fact(kSafe, Standing::holds, at(kNoon)), late, fact(NoticeKind::sandable, Standing::not_yet, at(kNoon)),
      fact(NoticeKind::gap_begins, Standing::over, at(kNoon)), fact(kCold, Standing::holds, at(kNoon))};
  book.round(facts, at(kNoon + 5));
  for (int i = 0; i < 20; ++i) {
    const auto again = book.round(facts, at(kNoon + 5 + i * 20));
    CHECK(again.changed.empty());
    CHECK(again.tell.empty());
  }
}

TEST_CASE("what is too late to be of use is never told") {
  Book book;
  auto late = fact(NoticeKind::pot_life_ending, Standing::holds, at(kNoon), "batch/3");
  late.useless_after = at(kNoon + 10);
  CHECK(book.round({late}, at(kNoon + 11)).tell.empty());
  CHECK(book.round({late}, at(kNoon + 60)).tell.empty());
  Book other;
  CHECK(other.round({late}, at(kNoon + 10)).tell.size() == 1);
}

TEST_CASE("what waited through quiet hours until it was useless is not told in the morning") {
  Book book;
  auto night = fact(kSafe, Standing::holds, at(23 * 60));
  night.useless_after = at(30 * 60);
  CHECK(book.round({night}, at(23 * 60)).tell.empty());
  CHECK(book.round({night}, at(31 * 60)).tell.empty());
  CHECK(book.phase(kSafe) == NoticePhase::idle);
}

TEST_CASE("quiet hours hold what can wait until they end, to the minute, and not what cannot") {
  Book book;
  const auto round = book.round({fact(kSafe, Standing::holds, at(23 * 60)),
                                 fact(NoticeKind::sensor_silent, Standing::holds, at(23 * 60), "channel/a")},
                                at(23 * 60 + 10));
  REQUIRE(round.tell.size() == 1);
  CHECK(round.tell[0].fact.kind == NoticeKind::sensor_silent);
  CHECK(round.next_due == at(31 * 60));
  CHECK(book.round({fact(kSafe, Standing::holds, at(23 * 60))}, at(31 * 60) - seconds(1)).tell.empty());
  CHECK(book.round({fact(kSafe, Standing::holds, at(23 * 60))}, at(31 * 60)).tell.size() == 1);
}

TEST_CASE("a limit must be broken for two minutes before it is told, a sensor silent for five") {
  Book book;
  const std::vector facts{fact(kCold, Standing::holds, at(kNoon))};
  const auto first = book.round(facts, at(kNoon) + seconds(1));
  CHECK(first.tell.empty());
  CHECK(first.next_due == at(kNoon + 2));
  CHECK(book.round(facts, at(kNoon + 2)).tell.size() == 1);
  Book other;
  const auto silent =
      other.round({fact(NoticeKind::sensor_silent, Standing::holds, at(kNoon), "channel/a")}, at(kNoon));
  CHECK(silent.next_due == at(kNoon + 5));
}

TEST_CASE("a value that wavers about its limit for an hour is told at most twice") {
  for (const int every : {1, 2, 3, 4, 5, 6, 7, 10, 15}) {
    CAPTURE(every);
    Book book;
    std::size_t told = 0;
    for (int minute = 0; minute < 60; ++minute) {
      const bool cold = (minute / every) % 2 == 0;
      const auto since = at(kNoon + minute / every * every);
      const auto standing = cold ? Standing::holds : Standing::over;
      told += book.round({fact(kCold, standing, since)}, at(kNoon + minute)).tell.size();
    }
    CHECK(told <= 2);
    if (every >= 3) CHECK(told >= 1);
  }
}

TEST_CASE("what was told and proves untrue is taken back once") {
  Book book;
  book.round({fact(kSafe, Standing::holds, at(kNoon))}, at(kNoon));
  auto not_yet = fact(kSafe, Standing::not_yet, at(kNoon + 90));
  not_yet.due = at(kNoon + 90);
  const auto taken = book.round({not_yet}, at(kNoon + 10));
  REQUIRE(taken.tell.size() == 1);
  CHECK(taken.tell[0].withdrawal);
  CHECK(taken.tell[0].generation == 1);
  CHECK(taken.next_due == at(kNoon + 90));
  CHECK(book.phase(kSafe) == NoticePhase::withdrawn);
  for (int i = 11; i < 31; ++i)
    CHECK(book.round({not_yet}, at(kNoon + i)).tell.empty());
}

TEST_CASE("what was taken back is told again only when it has become true anew") {
  Book book;
  book.round({fact(kSafe, Standing::holds, at(kNoon))}, at(kNoon));
  book.round({fact(kSafe, Standing::not_yet, at(kNoon + 90))}, at(kNoon + 10));
  CHECK(book.round({fact(kSafe, Standing::holds, at(kNoon))}, at(kNoon + 60)).tell.empty());
  const auto anew = book.round({fact(kSafe, Standing::holds, at(kNoon + 90))}, at(kNoon + 90));
  REQUIRE(anew.tell.size() == 1);
  CHECK(anew.tell[0].generation == 2);
}

TEST_CASE("what was told and left out for a while is still taken back when it proves untrue") {
  Book book;
  book.round({fact(kSafe, Standing::holds, at(kNoon))}, at(kNoon));
  book.round({}, at(kNoon + 1));  // its clocks are being worked out again
  CHECK(book.phase(kSafe) == NoticePhase::over);
  const auto taken = book.round({fact(kSafe, Standing::not_yet, at(kNoon + 90))}, at(kNoon + 2));
  REQUIRE(taken.tell.size() == 1);
  CHECK(taken.tell[0].withdrawal);
}

TEST_CASE("what was told and left out for a while is not told again when it still holds") {
  Book book;
  const std::vector facts{fact(kSafe, Standing::holds, at(kNoon))};
  book.round(facts, at(kNoon));
  book.round({}, at(kNoon + 1));
  CHECK(book.round(facts, at(kNoon + 60)).tell.empty());
}

TEST_CASE("taking back waits for the end of quiet hours, and is dropped when it was true after all") {
  Book book;
  book.round({fact(kSafe, Standing::holds, at(21 * 60))}, at(21 * 60));
  const auto night = book.round({fact(kSafe, Standing::not_yet, at(40 * 60))}, at(23 * 60));
  CHECK(night.tell.empty());
  CHECK(night.next_due == at(31 * 60));
  Book restored = book;
  CHECK(book.round({fact(kSafe, Standing::not_yet, at(40 * 60))}, at(31 * 60)).tell.size() == 1);
  CHECK(restored.round({fact(kSafe, Standing::holds, at(21 * 60))}, at(31 * 60)).tell.empty());
}

TEST_CASE("what was never told is never taken back") {
  Book book;
  book.round({fact(kSafe, Standing::holds, at(23 * 60))}, at(23 * 60));
  CHECK(book.round({fact(kSafe, Standing::not_yet, at(24 * 60))}, at(24 * 60)).tell.empty());
  CHECK(book.round({fact(kSafe, Standing::not_yet, at(24 * 60))}, at(33 * 60)).tell.empty());
}

TEST_CASE("alike windows are told as one, with the part that all pieces share") {
  Book book;
  const auto round = book.round(
      {window_of("coat/1", at(kNoon), at(kNoon + 180)), window_of("coat/2", at(kNoon + 7), at(kNoon + 175)),
       window_of("coat/3", at(kNoon + 30), at(kNoon + 180))},
      at(kNoon + 31));
  REQUIRE(round.tell.size() == 2);
  const auto& both = round.tell[0];
  CHECK(both.subjects == std::vector<std::string>{"coat/1", "coat/2"});
  CHECK(both.fact.content.pieces.size() == 2);
  CHECK(both.fact.content.from == at(kNoon + 7));
  CHECK(both.fact.content.until == at(kNoon + 175));
  CHECK(both.fact.content.mix_by == at(kNoon + 160));
  CHECK(both.fact.since == at(kNoon + 7));
}

TEST_CASE("windows that share nothing, other sheets and other zones are told apart") {
  Book book;
  auto other_sheet = window_of("coat/3", at(kNoon), at(kNoon + 180));
  other_sheet.content.sheet_name = "Another";
  auto other_zone = window_of("coat/4", at(kNoon), at(kNoon + 180));
  other_zone.content.zone = "rack";
  const auto round = book.round(
      {window_of("coat/1", at(kNoon), at(kNoon + 6)), window_of("coat/2", at(kNoon + 8), at(kNoon + 15)),
       other_sheet, other_zone, window_of("coat/5", at(kNoon), at(kNoon + 180))},
      at(kNoon + 8));
  CHECK(round.tell.size() == 5);
}

TEST_CASE("pot lives are never told together") {
  Book book;
  auto one = fact(NoticeKind::pot_life_ending, Standing::holds, at(kNoon), "batch/1");
  auto two = one;
  two.subject = "batch/2";
  CHECK(book.round({one, two}, at(kNoon)).tell.size() == 2);
}

TEST_CASE("of grouped cold pieces the coldest value and the first beginning are told") {
  Book book;
  auto one = fact(kCold, Standing::holds, at(kNoon), "coat/1");
  auto two = fact(kCold, Standing::holds, at(kNoon + 4), "coat/2");
  one.content.value = 9.5;
  two.content.value = 8.0;
  const auto round = book.round({one, two}, at(kNoon + 10));
  REQUIRE(round.tell.size() == 1);
  CHECK(round.tell[0].fact.since == at(kNoon));
  CHECK(round.tell[0].fact.content.value == 8.0);
}

namespace {

/// A world of a few subjects whose facts come and go by chance, but never against time.
class World {
 public:
  explicit World(unsigned seed) : random_(seed) {}

  std::vector<NoticeFact> facts(Instant now) {
    std::vector<NoticeFact> all;
    for (const auto* subject : {"coat/1", "coat/2", "coat/3"}) {
      for (const auto kind : {kSafe, kCold, NoticeKind::sandable, NoticeKind::gap_begins}) {
        if (chance(10)) current_[{subject, kind}] = changed(subject, kind, now);
        const auto found = current_.find({subject, kind});
        if (found != current_.end() && !chance(20)) all.push_back(found->second);
      }
    }
    return all;
  }
  bool chance(int one_in) { return std::uniform_int_distribution(1, one_in)(random_) == 1; }
  void mix(std::vector<NoticeFact>& facts) { std::shuffle(facts.begin(), facts.end(), random_); }
  void mix(std::vector<NoticeState>& states) { std::shuffle(states.begin(), states.end(), random_); }
  int minutes_on() { return std::uniform_int_distribution(0, 25)(random_); }

 private:
  NoticeFact changed(const std::string& subject, NoticeKind kind, Instant now) {
    const auto standing = static_cast<Standing>(std::uniform_int_distribution(0, 2)(random_));
    auto made = fact(kind, standing, now - minutes(minutes_on()), subject);
    if (standing == Standing::not_yet) made.due = now + minutes(1 + minutes_on());
    if (chance(3)) made.useless_after = now + minutes(60);
    if (chance(2)) {
      made.content.from = made.since;
      made.content.until = made.since + minutes(30 + 10 * minutes_on());
    }
    return made;
  }

  std::mt19937 random_;
  std::map<Key, NoticeFact> current_;
};

/// What has been told of one subject and kind.
struct Told {
  std::optional<Instant> last;
  int times = 0;
  int taken_back = 0;
};

void check_telling(const Telling& each, Instant now, const Book& book, std::map<Key, Told>& told) {
  if (!book.policy.cannot_wait.contains(each.fact.kind)) {
    CHECK_FALSE(is_quiet(book.policy.quiet, book.policy.zone, now));
  }
  for (const auto& subject : each.subjects) {
    auto& one = told[{subject, each.fact.kind}];
    if (each.withdrawal) {
      ++one.taken_back;
    } else {
      if (one.last) CHECK(now - *one.last >= minutes(30));
      one.last = now;
      ++one.times;
    }
    CHECK(one.taken_back <= one.times);
  }
}

}  // namespace

TEST_CASE("by chance: one telling in thirty minutes, quiet nights, each taken back once, nothing twice") {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    CAPTURE(seed);
    World world(seed);
    Book book;
    std::map<Key, Told> told;
    Instant now = at(0);
    for (int i = 0; i < 400; ++i) {
      now += minutes(world.minutes_on());
      const auto facts = world.facts(now);
      const auto round = book.round(facts, now);
      for (const auto& each : round.tell)
        check_telling(each, now, book, told);
      if (round.next_due) CHECK(*round.next_due > now);
      const auto again = book.round(facts, now);
      CHECK(again.tell.empty());
      CHECK(again.changed.empty());
      CHECK(again.next_due == round.next_due);
    }
    CHECK(told.size() == 12);
  }
}

TEST_CASE("by chance: the order of facts and of states leaves no trace") {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    CAPTURE(seed);
    World world(seed);
    Book book;
    Instant now = at(0);
    for (int i = 0; i < 100; ++i) {
      now += minutes(world.minutes_on());
      auto facts = world.facts(now);
      std::vector<NoticeState> states;
      for (const auto& [key, state] : book.states)
        states.push_back(state);
      world.mix(states);
      auto mixed = facts;
      world.mix(mixed);
      const auto other = decide_notices(states, mixed, now, book.policy);
      CHECK(book.round(facts, now) == other);
    }
  }
}

TEST_CASE("by chance: asking at the due moment finds something to do, and nothing before it") {
  for (unsigned seed = 1; seed <= 200; ++seed) {
    CAPTURE(seed);
    World world(seed);
    Book book;
    Instant now = at(0);
    for (int i = 0; i < 40; ++i) {
      now += minutes(world.minutes_on());
      auto facts = world.facts(now);
      const auto round = book.round(facts, now);
      // Without what is only awaited or becomes useless: what is left of the due moment is a telling or a
      // taking back.
      if (!round.next_due) continue;
      for (auto& each : facts) {
        each.due.reset();
        each.useless_after.reset();
      }
      const auto due = book.round(facts, now).next_due;
      if (!due) continue;
      Book before = book;
      CHECK(before.round(facts, *due - Span(1)).tell.empty());
      Book on_time = book;
      CHECK_FALSE(on_time.round(facts, *due).tell.empty());
    }
  }
}

TEST_CASE("every kind and phase has a word of its own and is found by it") {
  for (const auto kind : kNoticeKinds) {
    CHECK_FALSE(word(kind).empty());
    CHECK(notice_kind_from(word(kind)) == kind);
  }
  for (const auto phase : {NoticePhase::idle, NoticePhase::holding, NoticePhase::told, NoticePhase::over,
                           NoticePhase::withdrawn})
    CHECK(notice_phase_from(word(phase)) == phase);
  CHECK_FALSE(notice_kind_from("nothing"));
  CHECK_FALSE(notice_phase_from(""));
}

}  // namespace setwell::core
