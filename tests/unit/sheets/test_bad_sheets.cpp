#include <random>
#include <regex>
#include <set>

#include <catch2/catch.hpp>

#include "daemon/sheets/sheet_reader.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using expectations::described;

const std::filesystem::path kBad = SETWELL_SOURCE_DIR "/tests/data/sheets/bad";

TEST_CASE("Each slip in a sheet is told with its line, its key and what would be right", "[sheets]") {
  int faulty = 0;
  for (const auto& path : expectations::toml_files(kBad)) {
    const std::string text = expectations::text_of(path);
    INFO(path.filename().string());
    const auto reading = sheets::read_sheet(text, path.filename().string());
    const auto faults = expectations::expected_faults(text);
    CHECK(described(reading.faults) == faults);
    CHECK(described(reading.warnings) == expectations::expected_warnings(text));
    CHECK(reading.material.has_value() == faults.empty());
    CHECK(!(described(reading.faults).empty() && described(reading.warnings).empty()));
    faulty += faults.empty() ? 0 : 1;
  }
  CHECK(faulty >= 30);
}

TEST_CASE("Of every key that a sheet may have some bad sheet shows what is said when it is wrong",
          "[sheets]") {
  std::set<std::string> told;
  for (const auto& path : expectations::toml_files(kBad)) {
    for (const auto& line : expectations::expected_faults(expectations::text_of(path))) {
      const auto from = line.find(": ") + 2;
      told.insert(std::regex_replace(line.substr(from, line.find(": ", from) - from),
                                     std::regex(R"(\[\d+\])"), "[]"));
    }
  }
  for (const std::string key : {"id",
                                "name",
                                "document",
                                "edition",
                                "date",
                                "family",
                                "reference",
                                "reference.temperature",
                                "reference.humidity",
                                "reference.film",
                                "reference.pot_mass",
                                "reference.where",
                                "mix.by_weight",
                                "mix.by_volume",
                                "mix.density_a",
                                "mix.density_b",
                                "mix.tolerance",
                                "mix.stir",
                                "mix.induction",
                                "milestones.pot_life",
                                "milestones.flash_off",
                                "milestones.tack_free[].at",
                                "milestones.tack_free[].time",
                                "milestones.sandable",
                                "milestones.sandable.where",
                                "milestones.sandable.times",
                                "milestones.handling",
                                "milestones.packing",
                                "milestones.full_cure",
                                "milestones.full_strength",
                                "recoat",
                                "recoat[].on_top",
                                "recoat[].kind",
                                "recoat[].opens",
                                "recoat[].closes",
                                "recoat[].gap_begins",
                                "recoat[].gap_ends",
                                "recoat[].touch_opens",
                                "recoat[].where",
                                "application.least",
                                "application.lasts",
                                "application.where",
                                "application.advised.temperature",
                                "application.advised.humidity",
                                "application.advised.dew_margin",
                                "application.limit.temperature",
                                "application.limit.humidity",
                                "application.limit.dew_margin",
                                "cure",
                                "cure.floor",
                                "cure.lasts",
                                "cure.advised.temperature",
                                "cure.advised.humidity",
                                "cure.advised.dew_margin",
                                "cure.limit.temperature",
                                "cure.limit.humidity",
                                "cure.limit.dew_margin",
                                "loaded[].load",
                                "loaded[].opens_at_least",
                                "loaded[].note",
                                "caution[].topic",
                                "caution[].text",
                                "caution[].where"}) {
    INFO(key);
    CHECK(told.contains(key));
  }
}

TEST_CASE("Many slips in one sheet are all told in one run, in the order of the file", "[sheets]") {
  const auto text = expectations::text_of(kBad / "many-at-once.toml");
  const auto reading = sheets::read_sheet(text, "many-at-once.toml");
  CHECK(reading.faults.size() >= 15);
  CHECK(std::is_sorted(reading.faults.begin(), reading.faults.end(),
                       [](const auto& a, const auto& b) { return a.line < b.line; }));
}

TEST_CASE("A contradiction is told and the figures are taken as they stand", "[sheets]") {
  const auto text = expectations::text_of(kBad / "odd-closes-before-it-opens.toml");
  const auto reading = sheets::read_sheet(text, "odd.toml");
  REQUIRE(reading.material);
  CHECK(reading.material->recoat.at(0).opens->rows.at(0).time.high == quantity::Hours(6));
  CHECK(reading.material->recoat.at(0).closes->rows.at(0).time.low == quantity::Hours(5));
}

TEST_CASE("An empty sheet is told everything that it must say", "[sheets]") {
  const auto reading = sheets::read_sheet("", "empty.toml");
  CHECK_FALSE(reading.material);
  CHECK(described(reading.faults).size() == 5);
  CHECK(described(reading.faults).front().starts_with("1: id: missing; right: "));
}

TEST_CASE("A huge sheet is one fault, and is not read", "[sheets]") {
  const auto reading = sheets::read_sheet(std::string(2'000'000, 'x'), "huge.toml");
  CHECK_FALSE(reading.material);
  CHECK(described(reading.faults) ==
        std::vector<std::string>{"1: the file is longer than 1 MiB; right: a file of a few kilobytes"});
}

TEST_CASE("Neither bottomless brackets nor any bytes make reading a sheet fail otherwise than by a fault",
          "[sheets]") {
  CHECK_FALSE(sheets::read_sheet("a = " + std::string(200'000, '['), "deep.toml").faults.empty());
  CHECK_FALSE(sheets::read_sheet("a = " + std::string(5'000, '{'), "deep.toml").faults.empty());
  std::mt19937 random(23);
  for (int round = 0; round < 200; ++round) {
    std::string bytes(300, ' ');
    for (char& byte : bytes)
      byte = static_cast<char>(random());
    CHECK_FALSE(sheets::read_sheet(bytes, "bytes.toml").material);
  }
}

TEST_CASE("A good sheet cut off anywhere is told of, or is a sheet", "[sheets]") {
  const auto text = expectations::text_of(SETWELL_SOURCE_DIR "/config/sheets/fast-coating-epoxy.toml");
  for (std::size_t length = 0; length < text.size(); length += 61) {
    const auto reading = sheets::read_sheet(text.substr(0, length), "cut.toml");
    CHECK(reading.material.has_value() == reading.faults.empty());
    if (reading.material) CHECK_FALSE(reading.material->id.text().empty());
  }
}

TEST_CASE("A recoat rule for a top that no sheet beside it is called is told, with what it may mean",
          "[sheets]") {
  auto text = expectations::text_of(SETWELL_SOURCE_DIR "/config/sheets/clear-sealer.toml");
  const std::string rule = "on_top = \"epoxy\"";
  text.replace(text.find(rule), rule.size(), "on_top = \"clear-urethan\"");
  CHECK(described(sheets::read_sheet(text, "s.toml").warnings).empty());
  const sheets::KnownSheets others = std::vector<std::string>{"clear-urethane", "spray-enamel"};
  const auto told = described(sheets::read_sheet(text, "s.toml", others).warnings);
  REQUIRE(told.size() == 1);
  CHECK(
      told.front().find("recoat[1].on_top: no family and no known sheet is called \"clear-urethan\"; right: "
                        "\"clear-urethane\"?") != std::string::npos);
  CHECK(sheets::sheet_id(text) == "clear-sealer");
  CHECK_FALSE(sheets::sheet_id("name = \"x\""));
}

}  // namespace
