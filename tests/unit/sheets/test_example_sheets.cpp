#include <set>

#include <catch2/catch.hpp>

#include "daemon/sheets/schedule_reader.hpp"
#include "daemon/sheets/sheet_reader.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using core::Milestone;

const std::filesystem::path kConfig = SETWELL_SOURCE_DIR "/config";

std::vector<core::Material> examples() {
  std::vector<core::Material> all;
  for (const auto& path : expectations::toml_files(kConfig / "sheets")) {
    auto reading = sheets::read_sheet(expectations::text_of(path), path.filename().string());
    if (reading.material) all.push_back(*std::move(reading.material));
  }
  return all;
}

TEST_CASE("The example sheets are read without faults and without warnings", "[sheets]") {
  const auto files = expectations::toml_files(kConfig / "sheets");
  CHECK(files.size() >= 8);
  for (const auto& path : files) {
    INFO(path.filename().string());
    const auto reading = sheets::read_sheet(expectations::text_of(path), path.filename().string());
    CHECK(expectations::described(reading.faults).empty());
    CHECK(expectations::described(reading.warnings).empty());
    REQUIRE(reading.material);
    CHECK(reading.material->id.text() == path.stem().string());
  }
}

TEST_CASE("Each example sheet says that it is invented", "[sheets]") {
  for (const auto& path : expectations::toml_files(kConfig / "sheets")) {
    INFO(path.filename().string());
    CHECK(expectations::text_of(path).starts_with("# An invented material"));
  }
  for (const auto& material : examples())
    CHECK(material.document.starts_with("Invented example sheet"));
}

std::set<Milestone> stated(const core::Material& material) {
  std::set<Milestone> all;
  for (std::size_t i = 0; i < core::kMilestoneCount; ++i) {
    if (core::table_of(material, static_cast<Milestone>(i))) all.insert(static_cast<Milestone>(i));
  }
  for (const auto& rule : material.recoat) {
    if (rule.opens) all.insert(Milestone::recoat_opens);
    if (rule.closes) all.insert(Milestone::recoat_closes);
    if (rule.gap_begins) all.insert(Milestone::gap_begins);
    if (rule.gap_ends) all.insert(Milestone::gap_ends);
  }
  return all;
}

TEST_CASE("Together the example sheets state every milestone and every kind of recoat rule", "[sheets]") {
  std::set<Milestone> milestones;
  std::set<core::RuleKind> kinds;
  for (const auto& material : examples()) {
    milestones.merge(stated(material));
    for (const auto& rule : material.recoat)
      kinds.insert(rule.kind);
  }
  CHECK(milestones.size() == core::kMilestoneCount);
  CHECK(kinds.size() == 5);
}

TEST_CASE("Some example sheets state one temperature and some several", "[sheets]") {
  std::set<bool> several;
  for (const auto& material : examples()) {
    if (material.tack_free) several.insert(material.tack_free->rows.size() > 1);
  }
  CHECK(several.size() == 2);
}

TEST_CASE("The two-part urethane asks for supplied air when sprayed", "[sheets]") {
  for (const auto& material : examples()) {
    if (material.family != core::Family::urethane) continue;
    const auto breathing = std::find_if(material.cautions.begin(), material.cautions.end(),
                                        [](const auto& c) { return c.topic == "breathing"; });
    REQUIRE(breathing != material.cautions.end());
    CHECK(breathing->text.find("supplied air") != std::string::npos);
    CHECK(breathing->text.find("Follow the sheet") != std::string::npos);
  }
}

std::set<std::string> sheets_of(const core::Schedule& schedule) {
  std::set<std::string> ids;
  for (const auto& item : schedule.items) {
    if (const auto* coat = std::get_if<core::PlannedCoat>(&item)) {
      ids.insert(coat->sheet.text());
    } else if (const auto& sheet = std::get<core::PlannedStep>(item).sheet) {
      ids.insert(sheet->text());
    }
  }
  return ids;
}

TEST_CASE("The example schedules are read without faults and name example sheets only", "[sheets]") {
  std::set<std::string> known;
  for (const auto& material : examples())
    known.insert(material.id.text());
  const auto files = expectations::toml_files(kConfig / "schedules");
  CHECK(files.size() == 2);
  for (const auto& path : files) {
    INFO(path.filename().string());
    const auto reading = sheets::read_schedule(expectations::text_of(path), path.filename().string());
    CHECK(expectations::described(reading.faults).empty());
    REQUIRE(reading.schedule);
    CHECK(reading.schedule->id.text() == path.stem().string());
    for (const auto& id : sheets_of(*reading.schedule))
      CHECK(known.count(id) == 1);
  }
}

}  // namespace
