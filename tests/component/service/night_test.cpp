#include <algorithm>
#include <fstream>
#include <iterator>

#include "tests/component/service/shop.hpp"

/// Notices against the hours in which somebody is awake: the window of the night, the morning list, the
/// question at the day's end.
namespace setwell::service_tests {

namespace {

std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The fast epoxy with another window: rows close together, so that it is known well.
void write_sheet(const Shop& shop, const std::string& opens, const std::string& closes) {
  auto text = content_of(shop.sheet_file("fast-coating-epoxy"));
  const std::string id = "id = \"fast-coating-epoxy\"";
  text.replace(text.find(id), id.size(), "id = \"night-epoxy\"");
  const auto from = text.find("opens = [");
  const auto to = text.find("where = \"p. 2, table 3\"");
  REQUIRE(from < to);
  std::string rows;
  for (const auto& [key, time] : {std::pair{"opens", opens}, {"closes", closes}}) {
    rows += std::string(key) + " = [\n";
    for (const auto* at : {"20 C", "22 C", "24 C"})
      rows += "  {at = \"" + std::string(at) + "\", time = \"" + time + "\"},\n";
    rows += "]\n";
  }
  text.replace(from, to - from, rows);
  std::ofstream(shop.sheet_file("night-epoxy"), std::ios::binary) << text;
}

/// Monday morning in a workshop that sleeps from 22:00 to 07:00.
std::unique_ptr<Shop> sleeping_shop() {
  auto shop = std::make_unique<Shop>(Keeps::a_file);
  shop->replace_setting("waking = \"00:00-00:00\"", "waking = \"07:00-22:00\"");
  shop->replace_setting("quiet = \"00:00-00:00\"", "quiet = \"22:00-07:00\"");
  write_sheet(*shop, "5 h", "14 h");
  shop->restart();
  shop->air_for(hours(2));
  return shop;
}

std::vector<ledger::NoticeRow> of_kind(Shop& shop, const std::string& kind) {
  std::vector<ledger::NoticeRow> found;
  for (const auto& row : shop.shop().ledger.notices(1000)) {
    if (row.kind == kind) found.push_back(row);
  }
  return found;
}

}  // namespace

TEST_CASE("A window that opens and closes in the night is told the evening before, with the choices",
          "[service]") {
  const auto shop = sleeping_shop();
  shop->make("fern-01");
  shop->air_upto(at("2031-03-03T19:30:00Z"));
  shop->coat("night-epoxy", {"fern-01"});
  const auto window = shop->piece("fern-01").recoat.front();
  REQUIRE(window.from);
  REQUIRE(window.until);
  REQUIRE(at(*window.from) > at("2031-03-03T22:00:00Z"));
  REQUIRE(at(*window.until) < at("2031-03-04T07:00:00Z"));
  shop->air_upto(at("2031-03-03T21:59:00Z"));
  const auto told = of_kind(*shop, "last-start");
  REQUIRE(told.size() == 1);
  CHECK(told[0].created >= at("2031-03-03T20:00:00Z"));
  CHECK(holds(told[0].title, "decide now"));
  CHECK(holds(told[0].title, "lies in your night"));
  CHECK(holds(told[0].body, "Let it close"));
  CHECK(holds(told[0].body, "start them later"));
  CHECK(holds(told[0].body, "sand"));
  shop->air_upto(at("2031-03-04T08:00:00Z"));
  CHECK(of_kind(*shop, "last-start").size() == 1);
}

TEST_CASE("A window that would open on heat while everybody sleeps is not told ahead", "[service]") {
  const auto shop = sleeping_shop();
  shop->make("fern-01");
  shop->air_upto(at("2031-03-03T19:30:00Z"));
  api::CoatParams params;
  params.what = "night-epoxy";
  params.pieces = {"fern-01"};
  params.zone = "cabinet";
  granted(service::coat(shop->shop(), params, shop->now));
  for (auto t = shop->now; t < at("2031-03-03T21:59:00Z"); t += minutes(20)) {
    shop->now = t;
    api::ReadParams by_hand;
    by_hand.what = "cabinet";
    by_hand.air = "22C";
    by_hand.humidity_pct = 50;
    granted(service::read(shop->shop(), by_hand, shop->now));
    shop->tick();
  }
  CHECK(of_kind(*shop, "last-start").empty());
}

TEST_CASE("The morning list comes once at waking, with each piece and what the night brought", "[service]") {
  const auto shop = sleeping_shop();
  shop->make("fern-01..03");
  shop->air_upto(at("2031-03-03T21:30:00Z"));
  shop->coat("fast-coating-epoxy", {"fern-01", "fern-02", "fern-03"});
  shop->air_upto(at("2031-03-04T06:59:00Z"));
  CHECK(of_kind(*shop, "morning-list").empty());
  CHECK(of_kind(*shop, "safe-to-recoat").empty());
  shop->air_upto(at("2031-03-04T07:00:00Z"));
  shop->air_upto(at("2031-03-04T09:00:00Z"));
  const auto list = of_kind(*shop, "morning-list");
  REQUIRE(list.size() == 1);
  CHECK(list[0].created == at("2031-03-04T07:00:00Z"));
  CHECK(holds(list[0].body, "fern-01..03: safe to recoat with"));
  CHECK(holds(list[0].body, "Tonight's coldest hour"));
  const auto safe = of_kind(*shop, "safe-to-recoat");
  REQUIRE_FALSE(safe.empty());
  // It went out with the list: one message, shown under both.
  CHECK(safe[0].extra == list[0].extra);
}

TEST_CASE("A window that passed by day with nothing entered is asked about once, at the day's end",
          "[service]") {
  for (const bool touched : {false, true}) {
    const auto shop = sleeping_shop();
    write_sheet(*shop, "2 h", "8 h");
    shop->restart();
    shop->make("fern-01");
    shop->coat("night-epoxy", {"fern-01"});
    const auto window = shop->piece("fern-01").recoat.front();
    REQUIRE(window.until);
    REQUIRE(at(*window.until) < at("2031-03-03T20:00:00Z"));
    shop->air_upto(at(*window.from) + minutes(20));
    if (touched) {
      api::StepParams params;
      params.step = "noted";
      params.pieces = {"fern-01"};
      params.text = "looked at it";
      granted(service::step(shop->shop(), params, shop->now));
    }
    shop->air_upto(at("2031-03-03T21:20:00Z"));
    CHECK(of_kind(*shop, "not-logged").empty());
    shop->air_upto(at("2031-03-04T10:00:00Z"));
    const auto asked = of_kind(*shop, "not-logged");
    REQUIRE(asked.size() == (touched ? 0 : 1));
    if (touched) continue;
    CHECK(holds(asked[0].title, "fern-01: coated and not logged?"));
    CHECK(asked[0].created >= at("2031-03-03T21:30:00Z"));
    CHECK(asked[0].created < at("2031-03-03T22:00:00Z"));
  }
}

}  // namespace setwell::service_tests
