#include <catch2/catch.hpp>

#include "daemon/settings/settings_reader.hpp"
#include "tests/unit/settings/zones.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using expectations::described;

const std::filesystem::path kBad = SETWELL_SOURCE_DIR "/tests/data/settings/bad";

TEST_CASE("Each slip in the settings is told with its line, its key and what would be right", "[settings]") {
  int faulty = 0;
  for (const auto& path : expectations::toml_files(kBad)) {
    const std::string text = expectations::text_of(path);
    INFO(path.filename().string());
    const auto reading = settings::read_settings(text, path.filename().string(), expectations::two_zones);
    const auto faults = expectations::expected_faults(text);
    CHECK(described(reading.faults) == faults);
    CHECK(described(reading.warnings) == expectations::expected_warnings(text));
    CHECK(reading.settings.has_value() == faults.empty());
    CHECK(!(described(reading.faults).empty() && described(reading.warnings).empty()));
    faulty += faults.empty() ? 0 : 1;
  }
  CHECK(faulty >= 25);
}

TEST_CASE("Many slips in the settings are all told in one run, in the order of the file", "[settings]") {
  const auto text = expectations::text_of(kBad / "many-at-once.toml");
  const auto reading = settings::read_settings(text, "many.toml", expectations::two_zones);
  CHECK(reading.faults.size() >= 15);
  CHECK(std::is_sorted(reading.faults.begin(), reading.faults.end(),
                       [](const auto& a, const auto& b) { return a.line < b.line; }));
}

TEST_CASE("No cut and no changed byte of the settings makes reading them throw", "[settings]") {
  const auto whole = expectations::text_of(kBad / "key-unknown.toml");
  REQUIRE(whole.size() > 500);
  for (std::size_t at = 0; at < whole.size(); at += 7) {
    CHECK_NOTHROW((void)settings::read_settings(std::string_view(whole).substr(0, at), "cut.toml",
                                                expectations::two_zones));
    for (const char byte : {'\0', '"', '[', '\xff', '-'}) {
      std::string changed = whole;
      changed[at] = byte;
      CHECK_NOTHROW((void)settings::read_settings(changed, "changed.toml", expectations::two_zones));
    }
  }
}

}  // namespace
