#include "tests/reference/prior_fit.hpp"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "daemon/core/arrhenius.hpp"
#include "tests/reference/prior_text.hpp"
#include "tests/reference/stated_tables.hpp"
#include "tests/reference/table_score.hpp"
#include "tests/support/materials.hpp"

/// The fit of the priors, on invented tables whose truth is known.
namespace setwell::tests {

using core::Family;
using core::Milestone;
using core::PriorKind;
using core::PriorSide;
using reference::FittedPriors;
using reference::StatedTable;
using reference::TableScore;

namespace {

struct Truth {
  double energy = 44;
  double spread = 0;
  double bend = 0;
};

StatedTable like(std::string sheet, std::string quantity, core::TimeTable rows) {
  return {std::move(sheet), "epoxy, invented", std::move(quantity), "", std::move(rows)};
}

/// A sheet with times at 5, 14, 23 and 35 °C, off the line of its own energy by a bridge's spread inside.
StatedTable invented(std::mt19937& random, int number, const std::string& quantity, const Truth& truth) {
  std::normal_distribution<double> normal;
  const double energy = truth.energy + truth.spread * normal(random);
  StatedTable table = like(fmt::format("N{}", number), quantity, {});
  for (const double celsius : {5.0, 14.0, 23.0, 35.0}) {
    const double x = core::inverse_rt(celsius) - core::inverse_rt(23);
    const double stray = truth.bend * std::sqrt(0.25 * 0.012) * normal(random);
    const double hours = std::exp(2.0 + energy * x + stray);
    table.rows.rows.push_back({quantity::Celsius(celsius), hours_stated(hours, hours), ""});
  }
  return table;
}

std::vector<StatedTable> many(int sheets, const std::string& quantity, const Truth& truth, unsigned seed) {
  std::mt19937 random(seed);
  std::vector<StatedTable> tables;
  for (int i = 0; i < sheets; ++i)
    tables.push_back(invented(random, i, quantity, truth));
  return tables;
}

core::EnergyPrior fitted(const FittedPriors& all, PriorKind kind, PriorSide side) {
  for (const auto& one : all.kinds) {
    if (one.kind == kind && one.side == side) return one.prior;
  }
  return {};
}

std::vector<StatedTable> tables_in(std::string_view text) {
  auto tables = reference::read_tables(text);
  REQUIRE(tables.has_value());
  return *tables;
}

constexpr std::string_view kHeader = "sheet,material,quantity,under,temperature_c,minutes_low,minutes_high\n";

}  // namespace

TEST_CASE("the fit finds the energies that invented sheets were made with, each kind its own") {
  std::vector<StatedTable> all = many(60, "touch-dry", {62, 2, 0}, 1);
  const auto pots = many(60, "pot-life", {33, 2, 0}, 2);
  all.insert(all.end(), pots.begin(), pots.end());
  const FittedPriors priors = reference::fit_priors(all);
  for (const PriorSide side : reference::kPriorSides) {
    // Sixty sheets against a beforehand of 44 ± 7.
    CHECK(fitted(priors, PriorKind::drying, side).mean == Approx(62).margin(2));
    CHECK(fitted(priors, PriorKind::pot_life, side).mean == Approx(33).margin(2));
    // Nothing was said of openings: the beforehand.
    CHECK(fitted(priors, PriorKind::opens, side).mean == Approx(44).margin(0.2));
  }
}

TEST_CASE("sheets that differ more get a wider spread, and more sheets let it speak") {
  const auto spread = [](int sheets, double truth) {
    return fitted(reference::fit_priors(many(sheets, "touch-dry", {44, truth, 0}, 3)), PriorKind::drying,
                  PriorSide::colder)
        .spread;
  };
  CHECK(spread(80, 24) > spread(80, 12));
  CHECK(spread(80, 12) > spread(80, 3));
  CHECK(spread(80, 24) > spread(5, 24));
}

TEST_CASE("the bend is how far rows were made to stray from the chord of their neighbours") {
  const double small = reference::fit_priors(many(80, "touch-dry", {44, 0, 1.0}, 4)).bend;
  const double large = reference::fit_priors(many(80, "touch-dry", {44, 0, 3.0}, 4)).bend;
  CHECK(large == Approx(3 * small).epsilon(0.1));
}

TEST_CASE("a fit without a sheet knows nothing that only it and its kin told") {
  auto tables = many(12, "recoat-opens", {50, 6, 1}, 5);
  const FittedPriors before = reference::fit_priors(tables);
  tables.push_back(like("Q1", "recoat-opens", table({{5, 40, 40}, {23, 1, 1}, {35, 0.1, 0.1}})));
  tables.push_back(like("Q1a", "recoat-opens", table({{5, 50, 50}, {23, 1, 1}})));
  const FittedPriors with = reference::fit_priors(tables);
  CHECK(fitted(with, PriorKind::opens, PriorSide::colder).mean >
        fitted(before, PriorKind::opens, PriorSide::colder).mean);
  const FittedPriors left_out = reference::fit_priors(reference::without(tables, "Q1"));
  for (std::size_t i = 0; i < before.kinds.size(); ++i) {
    CHECK(left_out.kinds[i].prior.mean == before.kinds[i].prior.mean);
    CHECK(left_out.kinds[i].prior.spread == before.kinds[i].prior.spread);
  }
  CHECK(left_out.bend == before.bend);
}

TEST_CASE("the bounds a sheet is judged by do not move with its own times or its kin's") {
  auto tables = many(10, "recoat-opens", {50, 6, 1}, 6);
  tables.push_back(like("Q1", "recoat-opens", table({{5, 5, 5}, {23, 1, 1}, {35, 0.5, 0.5}})));
  tables.push_back(like("Q1a", "recoat-opens", table({{5, 5, 5}, {23, 1, 1}})));
  const double before = reference::score_tables(tables, tables).by_sheet.at("Q1").ln_width;
  tables[10].rows = table({{5, 900, 900}, {23, 1, 1}, {35, 0.5, 0.5}});
  tables[11].rows = table({{5, 900, 900}, {23, 1, 1}});
  const TableScore after = reference::score_tables(tables, tables);
  CHECK(after.by_sheet.at("Q1").ln_width == before);
  CHECK(after.by_sheet.at("Q1").above == 1);
}

TEST_CASE("variants and other editions of a sheet are its kin") {
  CHECK(reference::kin_of("E1s") == reference::kin_of("E1"));
  CHECK(reference::kin_of("E2") == reference::kin_of("E3"));
  CHECK(reference::kin_of("E2b") == reference::kin_of("E3"));
  CHECK(reference::kin_of("E9o") == reference::kin_of("E9"));
  CHECK(reference::kin_of("E1") != reference::kin_of("E10"));
  CHECK(reference::kin_of("MC") == "MC");
}

TEST_CASE("every row but the one nearest 23 degrees is judged once, the colder of two as near being shown") {
  const std::vector<StatedTable> one{
      like("Q1", "recoat-opens", table({{5, 6, 6}, {21, 3, 3}, {25, 2, 2}, {40, 1, 1}}))};
  CHECK(one.front().shown() == 1);
  const TableScore score = reference::score_tables(one, one);
  CHECK(score.all.points == 3);
  CHECK(score.workshop.points == 1);
  CHECK(score.opens.points == 3);
  CHECK(score.by_group.at("opens colder").points == 1);
  CHECK(score.by_group.at("opens warmer").points == 2);
  CHECK(score.between.points == 2);
  CHECK(score.beyond.points == 2);
}

TEST_CASE("a time that rises with heat is counted as it stands, not smoothed") {
  auto tables = many(20, "recoat-opens", {44, 6, 1}, 7);
  tables.push_back(like("Q1", "recoat-opens", table({{21, 1, 1}, {27, 3, 3}})));
  const TableScore score = reference::score_tables(tables, tables);
  CHECK(score.by_sheet.at("Q1").above == 1);
  CHECK(score.opens.above >= 1);
}

TEST_CASE("sheets that were made as the priors say lie within the bounds as often as those claim") {
  const auto tables = many(150, "touch-dry", {44, 9, 1.5}, 8);
  CHECK(reference::score_tables(many(100, "touch-dry", {44, 9, 1.5}, 9), tables).all.inside() > 0.95);
  // Sheets of another sort do not: the bounds are no wall.
  CHECK(reference::score_tables(many(100, "touch-dry", {44, 30, 1.5}, 9), tables).all.inside() < 0.85);
}

TEST_CASE("what misses an aim is named, and what reaches all is not") {
  TableScore good;
  for (int i = 0; i < 200; ++i) {
    for (auto* tally : {&good.all, &good.workshop, &good.opens, &good.closes, &good.by_group["opens colder"]})
      tally->count(0.0, -0.5, 0.5);
  }
  CHECK(reference::aims_missed(good).empty());
  TableScore bad = good;
  for (int i = 0; i < 40; ++i)
    bad.by_group["opens colder"].count(1.0, -0.5, 0.5);
  for (int i = 0; i < 6; ++i)
    bad.closes.count(-1.0, -0.5, 0.5);
  const auto missed = reference::aims_missed(bad);
  REQUIRE(missed.size() == 2);
  CHECK(missed[0].find("opens colder") != std::string::npos);
  CHECK(missed[1].find("closings") != std::string::npos);
}

TEST_CASE("tables are read with commas in quotes, any order of rows and either line end") {
  const auto tables = tables_in(std::string(kHeader) +
                                "A1,\"alkyd enamel, fast\",touch-dry,,35,60,60\r\n"
                                "A1,\"alkyd enamel, fast\",touch-dry,,10,180,240\r\n"
                                "A1,\"alkyd enamel, fast\",late-window-opens,itself,23,8640,8640");
  REQUIRE(tables.size() == 2);
  CHECK(tables[0].material == "alkyd enamel, fast");
  CHECK(tables[0].family() == Family::alkyd);
  CHECK(tables[0].rows.rows.front().at.degrees() == 10.0);
  CHECK(tables[0].rows.rows.front().time.high.count() == Approx(4.0));
  CHECK(tables[1].milestone() == Milestone::recoat_opens);
}

TEST_CASE("a row that is no time is refused with its line, not passed over") {
  for (const char* row : {"A1,x,dry,,ten,60,60", "A1,x,dry,,10,0,60", "A1,x,dry,,10,60,30", "A1,x,dry,,10,60",
                          "A1,x,dry,,10,nan,nan", ",x,dry,,10,60,60", "A1,x,dry,,400,60,60"}) {
    const auto read = reference::read_tables(std::string(kHeader) + "A1,x,dry,,23,60,60\n" + row + "\n");
    REQUIRE_FALSE(read.has_value());
    CHECK(read.error().detail.find("line 3") != std::string::npos);
  }
  CHECK_FALSE(reference::read_tables("sheet,quantity\nA1,dry\n").has_value());
}

TEST_CASE("the milestone of a published quantity is told from its name") {
  CHECK(reference::milestone_of("gel") == Milestone::pot_life_over);
  CHECK(reference::milestone_of("early-window-closes") == Milestone::recoat_closes);
  CHECK(reference::milestone_of("shore-d65") == Milestone::handling);
  CHECK(reference::milestone_of("film-cured") == Milestone::full_cure);
  CHECK(reference::milestone_of("dust-dry") == Milestone::tack_free);
}

TEST_CASE("the written priors hold every kind and side, and name the tables they were fitted to") {
  const auto tables = many(10, "recoat-opens", {50, 6, 1}, 10);
  const std::string text = reference::priors_text(
      reference::fit_priors(tables), reference::score_tables(tables, tables), "0123456789abcdef");
  for (const PriorKind kind : reference::kPriorKinds) {
    for (const PriorSide side : reference::kPriorSides) {
      const std::string row =
          fmt::format("{{kAnyFamily, Kind::{}, Side::{}, ", reference::word(kind), reference::word(side));
      CHECK(text.find(row) != std::string::npos);
    }
  }
  CHECK(text.find("0123456789abcdef") != std::string::npos);
}

}  // namespace setwell::tests
