#include <catch2/catch.hpp>

#include "tests/support/accounts.hpp"

namespace setwell {
namespace {

quantity::Result<std::string> no_files(const std::string& name) {
  return quantity::not_found("there is no file " + name);
}

std::string faults_of(const std::string& toml) {
  std::string all;
  for (const auto& fault : cases::read_account(toml, "account.toml", no_files).faults)
    all += toml_text::describe(fault) + "\n";
  return all;
}

const std::string kHead = R"(start = 2031-03-03T08:00:00Z
seen = "2 d"
about = "a"
)";

TEST_CASE("An account that is empty is told everything it lacks", "[accounts]") {
  const auto faults = faults_of("");
  for (const char* key : {"start", "seen", "about", "piece"})
    CHECK(faults.find(key) != std::string::npos);
}

TEST_CASE("Every slip of an account is told with its line and what would be right", "[accounts]") {
  const auto faults = faults_of(kHead + R"([[piece]]
id = "a"
[[piece.coat]]
sheet = "x"
zone = "z"
at = "tomorrow"
[[piece.noted]]
saw = "gremlins"
[[piece.defect]]
signs = ["ugly"]
[[zone]]
id = "z"
csv = "none.csv"
[[zone.air]]
from = "0 h"
to = "1 h"
temperature = "20"
)");
  for (const char* part : {"account.toml:9: piece[0].coat[0].at: is no moment", "saw: is no observation",
                           "“ugly” is no sign", "there is no file none.csv", "zone[0].air[0].temperature"}) {
    INFO(faults);
    INFO(part);
    CHECK(faults.find(part) != std::string::npos);
  }
}

TEST_CASE("An account about a piece it does not hold is refused", "[accounts]") {
  const auto faults = faults_of(kHead + "[[piece]]\nid = \"b\"\n");
  CHECK(faults.find("names no piece of this account") != std::string::npos);
}

TEST_CASE("Values are spread evenly over a span, and rows stand at even distances", "[accounts]") {
  const auto reading = cases::read_account(kHead + R"([[piece]]
id = "a"
[[piece.coat]]
sheet = "x"
zone = "z"
at = "1 h"
[[zone]]
id = "z"
[[zone.air]]
from = "0 h"
to = "4 h"
temperature = ["50 F", "20 C", "10 C"]
humidity = "60 %"
[[zone.air]]
from = "5 h"
every = "1 h"
temperature_c = [1, 2.5, 3]
humidity_pct = [50, 51, 52]
)",
                                           "account.toml", no_files);
  REQUIRE(reading.account);
  const auto* air = reading.account->file.air(quantity::ZoneId("z"));
  REQUIRE(air != nullptr);
  const auto& points = air->temperature();
  CHECK(points.front().value == Approx(10));
  const auto start = *quantity::parse_rfc3339("2031-03-03T08:00:00Z");
  const auto value_at = [&](auto after) {
    for (const auto& point : points) {
      if (point.at == start + after) return point.value;
    }
    return -99.0;
  };
  CHECK(value_at(std::chrono::hours(2)) == Approx(20));
  CHECK(value_at(std::chrono::hours(3)) == Approx(15));
  CHECK(value_at(std::chrono::hours(6)) == Approx(2.5));
  CHECK(air->humidity().back().value == Approx(52));
}

}  // namespace
}  // namespace setwell
