#include <fstream>
#include <iterator>

#include "tests/component/service/shop.hpp"

/// Sheets that change, break and go.
namespace setwell::service_tests {

namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

void write_text(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::trunc) << text;
}

void replace_in(const std::filesystem::path& file, const std::string& old, const std::string& fresh) {
  auto text = text_of(file);
  const auto place = text.find(old);
  REQUIRE(place != std::string::npos);
  write_text(file, text.replace(place, old.size(), fresh));
}

const std::string kOpens = R"({at = "23 C", time = "3.5-4.5 h"})";

std::vector<std::string> faults(Shop& shop, const std::string& sheet) {
  for (const auto& line : granted(service::sheets(shop.shop(), {}, shop.now)).sheets) {
    if (line.sheet == sheet) return line.faults;
  }
  return {};
}

}  // namespace

TEST_CASE("Every example sheet and schedule is on the shelf without a fault", "[service]") {
  Shop shop;
  const auto answer = granted(service::sheets(shop.shop(), {}, shop.now));
  CHECK(answer.sheets.size() == 10);
  for (const auto& sheet : answer.sheets) {
    INFO(sheet.sheet);
    CHECK(sheet.faults.empty());
    CHECK_FALSE(granted(service::sheet_show(shop.shop(), {sheet.sheet}, shop.now)).figures.empty());
  }
  CHECK(granted(service::schedules(shop.shop(), {}, shop.now)).schedules.size() == 2);
}

TEST_CASE("A sheet that broke leaves its last good edition in force, with the fault's line", "[service]") {
  Shop shop(Keeps::a_file);
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.air_for(hours(2));
  const auto before = shop.state();
  const auto file = shop.sheet_file("fast-coating-epoxy");
  replace_in(file, "family = \"epoxy\"", "family = \"porridge\"");
  service::reload(shop.shop(), nullptr, shop.now);
  REQUIRE_FALSE(faults(shop, "fast-coating-epoxy").empty());
  CHECK(holds(faults(shop, "fast-coating-epoxy").front(), "fast-coating-epoxy.toml:"));
  CHECK(shop.state() == before);
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.restart();
  CHECK_FALSE(faults(shop, "fast-coating-epoxy").empty());
  CHECK(shop.piece("fern-01").coat == 2);
  CHECK(shop.piece("fern-01").verdict);
}

TEST_CASE("A coat keeps the edition it was made under; the next one is of the new", "[service]") {
  Shop shop(Keeps::a_file);
  shop.air_for(hours(2));
  shop.make("fern-01..02");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto from = shop.piece("fern-01").recoat.front().from;
  REQUIRE(from);
  replace_in(shop.sheet_file("fast-coating-epoxy"), kOpens, R"({at = "23 C", time = "5.5-6 h"})");
  service::reload(shop.shop(), nullptr, shop.now);
  CHECK(faults(shop, "fast-coating-epoxy").empty());
  CHECK(shop.piece("fern-01").recoat.front().from == from);
  shop.coat("fast-coating-epoxy", {"fern-02"});
  CHECK(*shop.piece("fern-02").recoat.front().from > *from);
  shop.restart();
  CHECK(shop.piece("fern-01").recoat.front().from == from);
  CHECK(*shop.piece("fern-02").recoat.front().from > *from);
}

TEST_CASE("A sheet whose file is gone stays with the coats made under it", "[service]") {
  Shop shop(Keeps::a_file);
  shop.air_for(hours(2));
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  std::filesystem::remove(shop.sheet_file("fast-coating-epoxy"));
  shop.restart();
  CHECK(shop.verdict("fern-01") == "wait");
  CHECK(shop.piece("fern-01").recoat.front().from);
}

TEST_CASE("Broken files of no known sheet are listed with their lines and harm nothing", "[service]") {
  Shop shop;
  write_text(shop.sheet_file("odd"), "id = \"odd\"\nname = 3\n[[[\n");
  service::reload(shop.shop(), nullptr, shop.now);
  bool listed = false;
  for (const auto& line : granted(service::sheets(shop.shop(), {}, shop.now)).sheets)
    listed = listed || holds(line.faults, "odd.toml:");
  CHECK(listed);
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
}

}  // namespace setwell::service_tests
