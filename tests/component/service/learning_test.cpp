#include <algorithm>

#include "daemon/service/upkeep.hpp"
#include "tests/component/service/shop.hpp"

/// What the touch tests of earlier pieces do to later ones, through everything the daemon does with an entry.
namespace setwell::service_tests {

namespace {

constexpr const char* kSheet = "fast-coating-epoxy";

std::string piece_id(int i) {
  return "fern-" + std::to_string(10 + i);
}

void touch(Shop& shop, const std::string& word, const std::string& piece) {
  granted(service::touch(shop.shop(), {word, {piece}, {}}, shop.now));
}

/// So many pieces coated at once, tacky after two hours and firm after three (the sheet says four), then
/// gone.
void tested_pieces(Shop& shop, int count, int first = 0) {
  std::vector<std::string> pieces;
  for (int i = first; i < first + count; ++i)
    pieces.push_back(piece_id(i));
  for (const auto& piece : pieces)
    shop.make(piece);
  shop.coat(kSheet, pieces);
  shop.air_for(hours(2));
  for (const auto& piece : pieces)
    touch(shop, "tacky", piece);
  shop.air_for(hours(1));
  for (const auto& piece : pieces)
    touch(shop, "firm", piece);
  shop.air_for(hours(1));
  granted(service::ship(shop.shop(), {pieces, true, {}}, shop.now));
}

/// A coat made now, and what its recoat window is.
api::PieceNow coated(Shop& shop, const std::string& id = "moss-01") {
  shop.make(id);
  shop.coat(kSheet, {id});
  shop.air_for(minutes(10));
  return shop.piece(id);
}

bool learned(const api::PieceNow& piece, const std::string& milestone) {
  return std::any_of(piece.milestones.begin(), piece.milestones.end(), [&](const api::MilestoneNow& m) {
    return m.name == milestone && std::find(m.basis.begin(), m.basis.end(), "learned") != m.basis.end();
  });
}

/// Hours from the making to the end of the window.
double until_h(const Shop& shop, const api::PieceNow& piece) {
  return quantity::Hours(at(*piece.recoat.front().until) - (shop.now - minutes(10))).count();
}

std::vector<api::LearnedNow> lessons(Shop& shop) {
  return granted(service::sheet_show(shop.shop(), {kSheet}, shop.now)).learned;
}

api::LearnedNow about_opening(Shop& shop) {
  for (const auto& each : lessons(shop)) {
    if (each.name == "recoat-opens") return each;
  }
  FAIL("nothing learned of the opening");
  return {};
}

/// Ages and clocks worked out from nothing but entries and readings.
void from_scratch(Shop& shop) {
  for (const auto& entry : shop.shop().book.entries())
    shop.shop().ledger.set_memo("touch-ages/" + std::to_string(entry.id.value()), "");
  for (const auto& [id, tracked] : shop.shop().coats.coats())
    shop.shop().ledger.drop_checkpoints(id);
  shop.restart();
  shop.tick();
}

}  // namespace

TEST_CASE("Six pieces that are firm early bring the closing of the seventh forward, and open nothing earlier",
          "[service]") {
  Shop plain;
  plain.air_for(hours(9));
  const auto before = coated(plain);
  CHECK_FALSE(learned(before, "recoat-closes"));

  Shop shop;
  shop.air_for(hours(2));
  tested_pieces(shop, 6);
  shop.air_upto(plain.now - minutes(10));
  const auto after = coated(shop);
  CHECK(learned(after, "recoat-opens"));
  CHECK(learned(after, "recoat-closes"));
  CHECK(learned(after, "tack-free"));
  CHECK_FALSE(learned(after, "full-cure"));
  CHECK(until_h(shop, after) < until_h(plain, before) - 0.2);
  CHECK(at(*after.recoat.front().from) - shop.now >= at(*before.recoat.front().from) - plain.now);
}

TEST_CASE("What the shop has learned is told in words with the sheet, and who it comes from", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  CHECK(lessons(shop).empty());
  tested_pieces(shop, 2);
  CHECK(about_opening(shop).text == "tests on 2 pieces so far");
  CHECK_FALSE(about_opening(shop).factor);
  tested_pieces(shop, 4, 2);
  const auto lesson = about_opening(shop);
  CHECK(lesson.pieces == 6);
  CHECK(lesson.tests == 12);
  CHECK(lesson.sooner == 6);
  CHECK(lesson.later == 0);
  REQUIRE(lesson.factor);
  CHECK(*lesson.factor < 0.9);
  CHECK(holds(lesson.text, "in 6 of 12 tests firmer than the sheet says; about 0."));
  CHECK(holds(lesson.text, "× its time; from 6 pieces"));
  CHECK(holds(lesson.acts, "closing forward"));
}

TEST_CASE("A later test moves nothing that was told of a coat made before it", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  tested_pieces(shop, 5);
  (void)coated(shop);
  const auto before = shop.checkpoints();
  shop.make("moss-02");
  shop.coat(kSheet, {"moss-02"});
  const auto* mine = shop.shop().book.workbook().in_progress(quantity::PieceId("moss-01"));
  const auto id = mine->coats.front().id;
  const auto learned_then = shop.shop().coats.find(id)->coat->learned;
  touch(shop, "tacky", "moss-02");
  CHECK(shop.shop().coats.find(id)->coat->learned == learned_then);
  CHECK_FALSE(learned_then.empty());
}

TEST_CASE("A test struck is a test never made", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  tested_pieces(shop, 5);
  CHECK(learned(coated(shop), "recoat-closes"));
  std::vector<std::int64_t> tests;
  for (const auto& entry : shop.shop().book.entries()) {
    const auto* touched = std::get_if<core::TouchTested>(&entry.body);
    if (touched != nullptr && entry.piece == quantity::PieceId(piece_id(0)))
      tests.push_back(entry.id.value());
  }
  REQUIRE(tests.size() == 2);
  for (const auto test : tests)
    granted(service::undo(shop.shop(), {test}, shop.now));
  CHECK(about_opening(shop).pieces == 4);
  CHECK_FALSE(learned(shop.piece("moss-01"), "recoat-closes"));
  CHECK(learned(shop.piece("moss-01"), "recoat-opens"));
}

TEST_CASE("A restart, and all worked out from scratch, give the same lesson and the same bits", "[service]") {
  Shop shop(Keeps::a_file);
  shop.air_for(hours(2));
  tested_pieces(shop, 6);
  (void)coated(shop);
  shop.air_for(hours(20));
  shop.restart();
  shop.tick();
  const auto clocks = shop.checkpoints();
  const auto lesson = about_opening(shop);
  REQUIRE(lesson.factor);
  shop.restart();
  shop.tick();
  CHECK(shop.checkpoints() == clocks);
  from_scratch(shop);
  CHECK(shop.checkpoints() == clocks);
  CHECK(*about_opening(shop).factor == *lesson.factor);
}

TEST_CASE("A reading that comes late changes the age at a touch, as if it had come in time", "[service]") {
  Shop shop(Keeps::a_file);
  shop.air_for(hours(2));
  tested_pieces(shop, 5);
  (void)coated(shop);
  const auto before = *about_opening(shop).factor;
  const auto coat_made = morning() + hours(2);
  std::vector<decode::RawMessage> late;
  for (int m = 3; m < 150; m += 10)
    late.push_back(shop.message(coat_made + minutes(m), 24.0, 50.0, shop.now));
  shop.take(std::move(late));
  const auto after = *about_opening(shop).factor;
  CHECK(after != before);
  const auto clocks = shop.checkpoints();
  from_scratch(shop);
  CHECK(*about_opening(shop).factor == after);
  CHECK(shop.checkpoints() == clocks);
}

TEST_CASE("Pieces in a heated cabinet teach nothing for the bench", "[service]") {
  Shop shop;
  shop.air_for(hours(2));
  std::vector<std::string> pieces;
  for (int i = 0; i < 5; ++i) {
    pieces.push_back(piece_id(i));
    shop.make(pieces.back());
  }
  shop.coat(kSheet, pieces);
  api::MoveParams move;
  move.pieces = pieces;
  move.zone = "cabinet";
  granted(service::move(shop.shop(), move, shop.now + minutes(1)));
  shop.air_for(hours(3));
  for (const auto& piece : pieces)
    touch(shop, "firm", piece);
  CHECK(lessons(shop).empty());
}

}  // namespace setwell::service_tests
