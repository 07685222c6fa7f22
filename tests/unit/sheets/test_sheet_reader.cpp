#include <catch2/catch.hpp>

#include "daemon/sheets/sheet_reader.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using core::Wording;
using quantity::Celsius;
using quantity::Hours;

core::Material read(std::string_view text) {
  auto reading = sheets::read_sheet(text, "test.toml");
  REQUIRE(expectations::described(reading.faults).empty());
  return *std::move(reading.material);
}

core::Material example(const std::string& name) {
  return read(expectations::text_of(SETWELL_SOURCE_DIR "/config/sheets/" + name + ".toml"));
}

const std::string kHead =
    "id = \"x\"\nname = \"X\"\ndocument = \"D\"\nfamily = \"epoxy\"\n[reference]\ntemperature = \"20 C\"\n";

TEST_CASE("Where a sheet stands in print is kept: document, edition, date", "[sheets]") {
  const auto fast = example("fast-coating-epoxy");
  CHECK(fast.document == "Invented example sheet FC: stands for no product");
  CHECK(fast.edition == "2");
  CHECK(fast.date == "2031-01-15");
  CHECK(example("slow-coating-epoxy").date == "spring 2031");
}

TEST_CASE("The conditions of the test are kept", "[sheets]") {
  const auto fast = example("fast-coating-epoxy");
  CHECK(fast.reference_temperature == Celsius(23));
  CHECK(fast.reference_humidity == quantity::RelativeHumidity::percent(50));
  CHECK(fast.reference_film == quantity::Micrometres(400));
  CHECK(fast.pot_test_mass == quantity::Grams(100));
  CHECK(fast.reference_where == "p. 1, test conditions");
  CHECK(example("slow-coating-epoxy").reference_temperature.degrees() == Approx(22.7778).epsilon(1e-5));
}

TEST_CASE("Mixing is kept by weight and by volume, with densities, tolerance, stirring and standing",
          "[sheets]") {
  const auto mix = example("clear-urethane").mix;
  REQUIRE(mix);
  CHECK(mix->by_weight.value_or(0) == Approx(100.0 / 35.0));
  CHECK(mix->by_volume.value_or(0) == Approx(3.0));
  CHECK(mix->density_a == quantity::GramsPerCubicCentimetre(1.0));
  CHECK(mix->density_b == quantity::GramsPerCubicCentimetre(1.06));
  CHECK(mix->tolerance == Approx(0.05));
  CHECK(mix->stir->count() == Approx(3.0));
  CHECK(mix->induction->count() == Approx(10.0));
  CHECK(mix->where == "p. 1, mixing");
}

TEST_CASE("Rows come in rising temperature whatever the order of the file", "[sheets]") {
  const auto material = read(kHead + R"([milestones]
tack_free = [{at = "30 C", time = "2 h"}, {at = "50 F", time = "9 h"}, {at = "20 C", time = "4 h"}]
)");
  const auto& rows = material.tack_free->rows;
  REQUIRE(rows.size() == 3);
  CHECK(rows[0].at.degrees() == Approx(10.0));
  CHECK(rows[1].at == Celsius(20));
  CHECK(rows[2].at == Celsius(30));
}

TEST_CASE("A time alone holds at the reference temperature", "[sheets]") {
  const auto material = read(kHead + "[milestones]\nfull_cure = \"7 d\"\n");
  REQUIRE(material.full_cure->rows.size() == 1);
  CHECK(material.full_cure->rows[0].at == Celsius(20));
  CHECK(material.full_cure->rows[0].time.low == Hours(168));
}

TEST_CASE("The wording of a time is kept", "[sheets]") {
  const auto material = read(kHead + R"([milestones]
pot_life = "20 min"
tack_free = "4-6 h"
sandable = "at least 16 h"
full_cure = "at most 7 d"
[[recoat]]
on_top = "any"
kind = "open-close"
opens = "4 h"
closes = "no limit"
)");
  const auto time = [](const std::optional<core::TimeTable>& t) { return t->rows.at(0).time; };
  CHECK(time(material.pot_life).wording == Wording::exact);
  CHECK(time(material.pot_life).low.count() == Approx(1.0 / 3.0));
  CHECK(time(material.tack_free) == core::StatedTime{Wording::range, Hours(4), Hours(6)});
  CHECK(time(material.sandable) == core::StatedTime{Wording::at_least, Hours(16), Hours(16)});
  CHECK(time(material.full_cure) == core::StatedTime{Wording::at_most, Hours(168), Hours(168)});
  CHECK(time(material.recoat.at(0).closes).wording == Wording::no_limit);
}

TEST_CASE("A row without its own place in the datasheet has its table's", "[sheets]") {
  const auto material = read(kHead + R"([milestones.tack_free]
where = "p. 2"
times = [{at = "20 C", time = "4 h"}, {at = "30 C", time = "2 h", where = "p. 3"}]
)");
  CHECK(material.tack_free->rows.at(0).where == "p. 2");
  CHECK(material.tack_free->rows.at(1).where == "p. 3");
}

TEST_CASE("An early window, its gap and the late window are kept", "[sheets]") {
  const auto rule = example("spray-enamel").recoat.at(0);
  CHECK(rule.kind == core::RuleKind::early_gap_late);
  CHECK(rule.top == "self");
  CHECK(rule.gap_begins->rows.at(1).time.high == Hours(1));
  CHECK(rule.gap_ends->rows.at(1).time.low == Hours(48));
  CHECK(rule.closes->rows.at(0).time.wording == Wording::no_limit);
  CHECK(!rule.touch_opens);
}

TEST_CASE("A touch opens a rule of firmness or tack unless the sheet says no", "[sheets]") {
  const auto rules = read(kHead + R"([[recoat]]
on_top = "self"
kind = "open-only"
opens = "4 h"
[[recoat]]
on_top = "alkyd"
kind = "open-only"
opens = "9 h"
touch_opens = false
)")
                         .recoat;
  CHECK(rules.at(0).touch_opens);
  CHECK(!rules.at(1).touch_opens);
}

TEST_CASE("The most particular rule stands first", "[sheets]") {
  std::string text = kHead;
  for (const auto* top : {"any", "urethane", "self", "clear-sealer"}) {
    text += std::string("[[recoat]]\non_top = \"") + top + "\"\nkind = \"open-only\"\nopens = \"4 h\"\n";
  }
  const auto rules = read(text).recoat;
  CHECK(rules.at(0).top == "clear-sealer");
  CHECK(rules.at(1).top == "self");
  CHECK(rules.at(2).top == "urethane");
  CHECK(rules.at(3).top == "any");
}

TEST_CASE("Advised ranges and limits are kept apart, and so are the two floors", "[sheets]") {
  const auto fast = example("fast-coating-epoxy");
  CHECK(fast.apply_least == Celsius(15));
  CHECK(fast.cure_floor == Celsius(10));
  CHECK(fast.application.advised.temperature.least == Celsius(20));
  CHECK(fast.application.limit.temperature.most == Celsius(32));
  CHECK(!fast.application.limit.humidity.least);
  CHECK(fast.application.limit.humidity.most == quantity::RelativeHumidity::percent(80));
  CHECK(fast.application.advised.dew_margin == quantity::CelsiusDelta(3));
  CHECK(fast.cure.limit.dew_margin == quantity::CelsiusDelta(2));
  CHECK(!fast.application.lasts);
  CHECK(fast.cure.lasts == Hours(24));
  CHECK(fast.cure.where == "p. 1, cure");
}

TEST_CASE("Rules for loaded coats and cautions are kept", "[sheets]") {
  const auto fast = example("fast-coating-epoxy");
  REQUIRE(fast.loaded.size() == 2);
  CHECK(fast.loaded[0].load == "flake");
  CHECK(fast.loaded[0].opens_at_least == Hours(6));
  CHECK(fast.loaded[0].where == "p. 3, fillers");
  CHECK(!fast.loaded[1].opens_at_least);
  REQUIRE(fast.cautions.size() == 6);
  CHECK(fast.cautions[0].topic == "skin");
  CHECK(fast.cautions[0].where == "p. 4");
}

TEST_CASE("Reading a sheet twice gives the same value", "[sheets]") {
  CHECK(example("clear-urethane") == example("clear-urethane"));
}

}  // namespace
