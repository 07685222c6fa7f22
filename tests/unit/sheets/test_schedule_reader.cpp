#include <catch2/catch.hpp>

#include "daemon/sheets/schedule_reader.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using expectations::described;

TEST_CASE("A schedule keeps its coats and steps in the order of the work", "[schedules]") {
  const auto reading = sheets::read_schedule(R"(
id = "plain"
name = "Plain"
[[item]]
step = "wiped"
with = "alcohol"
[[item]]
coat = "fast-coating-epoxy"
passes = 2
load = "flake"
film = "4 mil"
note = "thin"
[[item]]
step = "decal"
kind = "water-slide"
sheet = "decal-water"
)",
                                             "plain.toml");
  REQUIRE(described(reading.faults).empty());
  const auto& items = reading.schedule->items;
  REQUIRE(items.size() == 3);
  CHECK(std::get<core::PlannedStep>(items[0]).with == "alcohol");
  const auto& coat = std::get<core::PlannedCoat>(items[1]);
  CHECK(coat.sheet.text() == "fast-coating-epoxy");
  CHECK(coat.passes == 2);
  CHECK(coat.load == core::Load::flake);
  CHECK(coat.film->value() == Approx(101.6));
  CHECK(coat.note == "thin");
  const auto& decal = std::get<core::PlannedStep>(items[2]);
  CHECK(decal.step == core::Step::decal);
  CHECK(decal.kind == "water-slide");
  CHECK(decal.sheet->text() == "decal-water");
}

TEST_CASE("All slips of a schedule are told in one run", "[schedules]") {
  const auto reading = sheets::read_schedule(R"(id = "Plain"
[[item]]
step = "sandet"
[[item]]
coat = "a"
step = "sanded"
[[item]]
[[item]]
coat = "a"
passes = 0
film = 100
thick = true
)",
                                             "s.toml");
  CHECK(!reading.schedule);
  const std::vector<std::string> told = described(reading.faults);
  const std::vector<std::string> expected = {
      "1: id: \"Plain\" is no id; right: lower-case letters, digits, - and _, like \"bench-1\"",
      "1: name: missing; right: what the schedule is called at the bench",
      "3: item[0].step: \"sandet\" is not known here; right: perhaps \"sanded\"; all: washed, wiped, sanded, "
      "polished, masked, unmasked, decal, flaked, torched or noted",
      "4: item[1]: both a coat and a step; right: coat = \"a sheet's id\" or step = \"sanded\"",
      "7: item[2]: neither a coat nor a step; right: coat = \"a sheet's id\" or step = \"sanded\"",
      "10: item[3].passes: 0 is out of range; right: a whole number from 1 to 20",
      "11: item[3].film: a number without a unit; right: film thickness in um, mil or mm, like \"100 um\"",
      "12: item[3].thick: unknown key; right: one of coat, passes, load, film or note"};
  REQUIRE(told.size() == expected.size());
  for (const auto& line : expected) {
    INFO(line);
    CHECK(std::find(told.begin(), told.end(), line) != told.end());
  }
}

TEST_CASE("A schedule without items is refused", "[schedules]") {
  const auto reading = sheets::read_schedule("id = \"a\"\nname = \"A\"\n", "s.toml");
  REQUIRE(reading.faults.size() == 1);
  CHECK(reading.faults[0].key == "item");
}

}  // namespace
