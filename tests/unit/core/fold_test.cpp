#include "daemon/core/fold.hpp"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "daemon/core/material.hpp"

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

namespace {

const Instant kMorning = *parse_rfc3339("2031-03-04T08:00:00Z");

/// A log in which everything is entered a minute after it happened, unless said otherwise.
class Log {
 public:
  EntryId add(const std::string& piece, Span after, EntryBody body, std::optional<Span> said = {}) {
    Entry entry;
    entry.id = EntryId(static_cast<std::int64_t>(entries_.size()) + 1);
    entry.piece = PieceId(piece);
    entry.happened = kMorning + after;
    entry.said = kMorning + said.value_or(after + 1min);
    entry.body = std::move(body);
    entries_.push_back(entry);
    return entry.id;
  }
  EntryId strike(EntryId which) { return add("", 100h, Struck{which}); }
  [[nodiscard]] Workbook fold() const { return core_fold(entries_); }
  [[nodiscard]] std::vector<Entry>& entries() { return entries_; }

 private:
  static Workbook core_fold(const std::vector<Entry>& entries) { return setwell::core::fold(entries); }
  std::vector<Entry> entries_;
};

CoatMade coat(const std::string& sheet, const std::string& zone = "bench") {
  CoatMade made;
  made.sheet = SheetId(sheet);
  made.zone = ZoneId(zone);
  return made;
}

std::vector<std::string> sheets_of(const Piece& piece) {
  std::vector<std::string> sheets;
  for (const Coat& one : piece.coats)
    sheets.push_back(one.made.sheet.text() + " " + std::to_string(one.number));
  return sheets;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("of a piece that went and one that was made under its id at the same moment, the older has ended",
          "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 2h, PieceEnded{Ending::shipped, false});
  log.add("fern-07", 2h, PieceMade{});
  const Workbook book = log.fold();
  REQUIRE(book.pieces.size() == 2);
  CHECK(book.pieces[0].ended);
  CHECK_FALSE(book.pieces[1].ended);
}

TEST_CASE("a piece that went the moment it was made has ended", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 0h, PieceEnded{Ending::scrapped, false});
  CHECK(log.fold().pieces.front().ended);
}

TEST_CASE("a coat placed in before others renumbers them and keeps their identity", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  const EntryId primer = log.add("fern-07", 1h, coat("primer"));
  const EntryId clear = log.add("fern-07", 5h, coat("clear"));
  log.add("fern-07", 3h, coat("colour"));
  const Workbook book = log.fold();
  const Piece& piece = book.pieces.at(0);
  CHECK(sheets_of(piece) == Names{"primer 1", "colour 2", "clear 3"});
  CHECK(piece.coats[0].id == primer);
  CHECK(piece.coats[2].id == clear);
}

TEST_CASE("a struck coat counts for nothing and the others close ranks", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  const EntryId first = log.add("fern-07", 1h, coat("primer"));
  log.add("fern-07", 5h, coat("clear"));
  log.strike(first);
  CHECK(sheets_of(log.fold().pieces.at(0)) == Names{"clear 1"});
}

TEST_CASE("a strike of a strike brings the entry back, and a third strike takes it out again", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  const EntryId struck = log.add("fern-07", 1h, coat("primer"));
  const EntryId strike = log.strike(struck);
  CHECK(log.fold().pieces.at(0).coats.empty());
  const EntryId undone = log.strike(strike);
  CHECK(log.fold().pieces.at(0).coats.size() == 1);
  log.strike(undone);
  CHECK(log.fold().pieces.at(0).coats.empty());
}

TEST_CASE("a strike that names itself or a later entry strikes nothing", "[fold]") {
  Log log;
  log.strike(EntryId(1));
  log.strike(EntryId(3));
  log.add("fern-07", 0h, PieceMade{});
  CHECK(log.fold().pieces.size() == 1);
}

TEST_CASE("an id used again after its piece has gone is another piece", "[fold]") {
  Log log;
  const EntryId old_piece = log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 1h, coat("primer"));
  log.add("fern-07", 2h, PieceEnded{Ending::shipped, false});
  const EntryId new_piece = log.add("fern-07", 3h, PieceMade{});
  log.add("fern-07", 4h, coat("clear"));
  const Workbook book = log.fold();
  REQUIRE(book.pieces.size() == 2);
  CHECK(book.pieces[0].made_by == old_piece);
  CHECK(sheets_of(book.pieces[0]) == Names{"primer 1"});
  CHECK(sheets_of(book.pieces[1]) == Names{"clear 1"});
  REQUIRE(book.in_progress(PieceId("fern-07")) != nullptr);
  CHECK(book.in_progress(PieceId("fern-07"))->made_by == new_piece);
}

TEST_CASE("a coat that came shortly before its piece was made goes to the piece in progress when said",
          "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 2h, PieceEnded{Ending::scrapped, false});
  log.add("fern-07", 3h, PieceMade{});
  log.add("fern-07", 2h + 50min, coat("clear"), 3h + 5min);
  const Workbook book = log.fold();
  CHECK(book.pieces.at(0).coats.empty());
  CHECK(sheets_of(book.pieces.at(1)) == Names{"clear 1"});
}

TEST_CASE("a late word about a time when the old bearer was in progress goes to the old one", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 2h, PieceEnded{Ending::shipped, false});
  log.add("fern-07", 3h, PieceMade{});
  log.add("fern-07", 1h, coat("primer"), 4h);
  CHECK(sheets_of(log.fold().pieces.at(0)) == Names{"primer 1"});
}

TEST_CASE("a defect seen after shipping stays with the shipped piece", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 2h, PieceEnded{Ending::shipped, false});
  log.add("fern-07", 90h, DefectSeen{{"peeling"}, {}, {}, {}});
  const Workbook book = log.fold();
  CHECK(book.pieces.at(0).defects.size() == 1);
  CHECK(book.in_progress(PieceId("fern-07")) == nullptr);
}

TEST_CASE("entries about a piece that never was are left out", "[fold]") {
  Log log;
  log.add("moss-01", 1h, coat("clear"));
  log.add("moss-01", 1h, PieceEnded{});
  CHECK(log.fold() == Workbook{});
}

TEST_CASE("coats and moves both say where a piece is", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 1h, coat("primer", "bench"));
  log.add("fern-07", 2h, PieceMoved{ZoneId("cabinet")});
  log.add("fern-07", 3h, PieceMoved{ZoneId("cabinet")});
  log.add("fern-07", 4h, coat("clear", "rotator"));
  const std::vector<Stay> expected{{kMorning + 1h, ZoneId("bench")},
                                   {kMorning + 2h, ZoneId("cabinet")},
                                   {kMorning + 4h, ZoneId("rotator")}};
  CHECK(log.fold().pieces.at(0).stays == expected);
}

TEST_CASE("a move to a place is a stay of its own, which a coat in that zone does not end", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  log.add("fern-07", 1h, coat("primer", "bench"));
  log.add("fern-07", 1h, PieceMoved{ZoneId("bench"), "hook-2"});
  log.add("fern-07", 2h, coat("clear", "bench"));
  log.add("fern-07", 3h, PieceMoved{ZoneId("bench"), "hook-2"});
  log.add("fern-07", 4h, PieceMoved{ZoneId("bench"), "hook-3"});
  log.add("fern-07", 5h, coat("clear", "rotator"));
  log.add("fern-07", 6h, PieceMoved{ZoneId("bench"), "hook-2"});
  log.add("fern-07", 7h, PieceMoved{ZoneId("bench")});
  const std::vector<Stay> expected{{kMorning + 1h, ZoneId("bench"), "hook-2"},
                                   {kMorning + 4h, ZoneId("bench"), "hook-3"},
                                   {kMorning + 5h, ZoneId("rotator")},
                                   {kMorning + 6h, ZoneId("bench"), "hook-2"},
                                   {kMorning + 7h, ZoneId("bench")}};
  CHECK(log.fold().pieces.at(0).stays == expected);
}

TEST_CASE("a touch on a witness belongs to its batch, not to a piece", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  BatchMixed mix;
  mix.batch = BatchId("b1");
  log.add("", 1h, mix);
  log.add("fern-07", 2h, TouchTested{Touch::tacky, BatchId("b1")});
  log.add("fern-07", 2h, TouchTested{Touch::firm, {}});
  const Workbook book = log.fold();
  REQUIRE(book.batch(BatchId("b1")) != nullptr);
  CHECK(book.batch(BatchId("b1"))->witness.size() == 1);
  REQUIRE(book.pieces.at(0).touches.size() == 1);
  CHECK(book.pieces.at(0).touches[0].body.touch == Touch::firm);
}

TEST_CASE("readings by hand go to the zone's air, the piece's surface, or both", "[fold]") {
  Log log;
  log.add("fern-07", 0h, PieceMade{});
  HandReading air;
  air.zone = ZoneId("bench");
  air.air = Celsius(17);
  HandReading surface;
  surface.surface = Celsius(14);
  log.add("", 1h, air);
  log.add("fern-07", 1h, surface);
  const Workbook book = log.fold();
  CHECK(book.air_readings.size() == 1);
  CHECK(book.pieces.at(0).surface_readings.size() == 1);
}

namespace {

/// A random log of a small workshop, with ids that come back, strikes, and entries in no order of time.
std::vector<Entry> random_log(std::mt19937& random) {
  const auto pick = [&](int most) { return static_cast<int>(random() % static_cast<unsigned>(most + 1)); };
  Log log;
  for (int i = 0; i < 40; ++i) {
    const std::string piece = "p" + std::to_string(pick(2));
    const Span at = std::chrono::minutes(pick(600));
    const Span said = at + std::chrono::minutes(pick(60));
    switch (pick(8)) {
      case 0:
        log.add(piece, at, PieceMade{}, said);
        break;
      case 1:
      case 2:
        log.add(piece, at, coat("s" + std::to_string(pick(2)), "z" + std::to_string(pick(2))), said);
        break;
      case 3:
        log.add(piece, at, TouchTested{static_cast<Touch>(pick(6)), {}}, said);
        break;
      case 4:
        log.add(piece, at, PieceMoved{ZoneId("z" + std::to_string(pick(2)))}, said);
        break;
      case 5:
        log.add(piece, at, PieceEnded{Ending::shipped, false}, said);
        break;
      case 6: {
        BatchMixed mix;
        mix.batch = BatchId("b" + std::to_string(pick(1)));
        log.add("", at, mix, said);
        break;
      }
      case 7:
        log.add("", at, TouchTested{Touch::tacky, BatchId("b" + std::to_string(pick(1)))}, said);
        break;
      default:
        log.strike(EntryId(pick(i + 1)));
        break;
    }
  }
  return log.entries();
}

}  // namespace

TEST_CASE("the fold does not depend on the order in which entries are given", "[fold]") {
  std::mt19937 random(7);
  std::size_t pieces = 0;
  for (int round = 0; round < 200; ++round) {
    std::vector<Entry> entries = random_log(random);
    const Workbook told = fold(entries);
    pieces += told.pieces.size();
    for (int shuffle = 0; shuffle < 5; ++shuffle) {
      std::shuffle(entries.begin(), entries.end(), random);
      REQUIRE(fold(entries) == told);
    }
  }
  CHECK(pieces > 200);  // the logs did say something
}

TEST_CASE("a strike undone leaves the workbook as if nothing had been struck", "[fold]") {
  std::mt19937 random(11);
  for (int round = 0; round < 100; ++round) {
    std::vector<Entry> entries = random_log(random);
    const Workbook before = fold(entries);
    Entry strike;
    strike.id = EntryId(1000);
    strike.body = Struck{entries[random() % entries.size()].id};
    Entry undo;
    undo.id = EntryId(1001);
    undo.body = Struck{strike.id};
    entries.push_back(strike);
    entries.push_back(undo);
    REQUIRE(fold(entries) == before);
  }
}

TEST_CASE("words of entries read both ways", "[fold]") {
  for (int i = 0; i < 10; ++i)
    CHECK(step_from(word(static_cast<Step>(i))) == static_cast<Step>(i));
  for (int i = 0; i < 7; ++i)
    CHECK(touch_from(word(static_cast<Touch>(i))) == static_cast<Touch>(i));
  for (int i = 0; i < 4; ++i)
    CHECK(load_from(word(static_cast<Load>(i))) == static_cast<Load>(i));
  for (int i = 0; i < 3; ++i)
    CHECK(pot_from(word(static_cast<Pot>(i))) == static_cast<Pot>(i));
  CHECK(ending_from("scrapped") == Ending::scrapped);
  CHECK_FALSE(step_from("painted").has_value());
  for (const std::string_view kind :
       {"piece-made", "coat-made", "step-done", "touch-tested", "batch-mixed", "lot-opened", "piece-moved",
        "rotator-changed", "hand-reading", "defect-seen", "piece-ended", "notice-seen", "struck"}) {
    const auto body = blank_body(kind);
    REQUIRE(body.has_value());
    CHECK(kind_word(*body) == kind);
  }
  CHECK_FALSE(blank_body("wished").has_value());
}

TEST_CASE("a rule is chosen by sheet, then self, then family, then any", "[material]") {
  Material material;
  material.id = SheetId("clear-a");
  for (const char* top : {"any", "epoxy", "self", "clear-b"}) {
    RecoatRule rule;
    rule.top = top;
    material.recoat.push_back(rule);
  }
  CHECK(rule_for(material, SheetId("clear-b"), Family::epoxy)->top == "clear-b");
  CHECK(rule_for(material, SheetId("clear-a"), Family::epoxy)->top == "self");
  CHECK(rule_for(material, SheetId("clear-c"), Family::epoxy)->top == "epoxy");
  CHECK(rule_for(material, SheetId("clear-c"), Family::alkyd)->top == "any");
  material.recoat.erase(material.recoat.begin());
  CHECK(rule_for(material, SheetId("clear-c"), Family::alkyd) == nullptr);
}
