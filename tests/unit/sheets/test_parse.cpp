#include <catch2/catch.hpp>

#include "daemon/sheets/sheet_reader.hpp"
#include "daemon/toml_text/parse.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;

std::vector<std::string> faults_of(std::string_view text) {
  toml_text::Report report("x.toml");
  (void)toml_text::parse(text, report);
  return expectations::described(report.take_faults());
}

TEST_CASE("Several lines that break the grammar are each told", "[parse]") {
  const auto faults = faults_of("a = 1\nb = \nc = 3\nd = \"open\ne = 5\na = 2\n");
  REQUIRE(faults.size() == 3);
  CHECK(faults[0].starts_with("2: "));
  CHECK(faults[1].starts_with("4: "));
  CHECK(faults[2].starts_with("6: "));
}

TEST_CASE("What stands after a broken line is still read", "[parse]") {
  toml_text::Report report("x.toml");
  const auto root = toml_text::parse("a = \nb = 2\n", report);
  REQUIRE(root.members.size() == 1);
  CHECK(root.members[0].key == "b");
  CHECK(root.members[0].at.line == 2);
}

TEST_CASE("A table whose head cannot be read does not lend its keys to the one before", "[parse]") {
  toml_text::Report report("x.toml");
  const auto root = toml_text::parse("[a]\nx = 1\n[b.\ny = 2\n[c]\nz = 3\n", report);
  CHECK(expectations::described(report.take_faults()).size() == 1);
  REQUIRE(root.members.size() == 2);
  CHECK(root.members[0].value.members.size() == 1);
  CHECK(root.members[1].key == "c");
  CHECK(root.members[1].at.line == 5);
}

TEST_CASE("Nothing is called missing while a line could not be read", "[parse]") {
  const auto reading = sheets::read_sheet("id = \n", "x.toml");
  REQUIRE(reading.faults.size() == 1);
  CHECK(reading.faults[0].line == 1);
}

TEST_CASE("A file longer than 1 MiB is refused", "[parse]") {
  CHECK(faults_of(std::string(toml_text::kLargestText + 1, ' ')).size() == 1);
  CHECK(faults_of(std::string(toml_text::kLargestText, ' ')).empty());
}

TEST_CASE("A message stays on one line whatever the file holds", "[parse]") {
  const auto reading =
      sheets::read_sheet("\"a\\nb\" = 1\nname = \"\\u0007\\n\"\nfamily = \"x\\ny\"\n", "x.toml");
  REQUIRE(!reading.faults.empty());
  for (const auto& fault : reading.faults) {
    CHECK(toml_text::describe(fault).find('\n') == std::string::npos);
  }
}

TEST_CASE("No cut and no changed byte of a sheet makes reading it throw", "[parse]") {
  const auto whole = expectations::text_of(SETWELL_SOURCE_DIR "/config/sheets/fast-coating-epoxy.toml");
  REQUIRE(whole.size() > 1000);
  for (std::size_t at = 0; at < whole.size(); at += 41) {
    CHECK_NOTHROW((void)sheets::read_sheet(std::string_view(whole).substr(0, at), "cut.toml"));
    for (const char byte : {'\0', '"', '[', '\xff', '-'}) {
      std::string changed = whole;
      changed[at] = byte;
      CHECK_NOTHROW((void)sheets::read_sheet(changed, "changed.toml"));
    }
  }
}

TEST_CASE("Deeply nested and odd values are told of, not followed", "[parse]") {
  CHECK(!faults_of("a = " + std::string(5000, '[')).empty());
  for (const auto* text :
       {"id = nan", "mix = inf", "recoat = [[1]]", "milestones = 1979-05-27", "caution = [{}]",
        "reference = [1, \"2\", {}]", "milestones.pot_life = {}", "loaded = [[]]",
        "milestones.pot_life.times.times = 1", "cure = true", "date = 07:32:00"}) {
    INFO(text);
    CHECK(!sheets::read_sheet(text, "x.toml").material);
  }
}

}  // namespace
