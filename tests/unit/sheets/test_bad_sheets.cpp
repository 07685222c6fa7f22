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

}  // namespace
