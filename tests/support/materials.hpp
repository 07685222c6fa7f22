#pragma once

#include <initializer_list>
#include <memory>
#include <utility>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/material.hpp"

/// Invented materials for tests: tables of round numbers, no product's.
namespace setwell::tests {

inline core::StatedTime hours_stated(double low, double high) {
  return {low == high ? core::Wording::exact : core::Wording::range, quantity::Hours(low),
          quantity::Hours(high)};
}

struct TestRow {
  double celsius;
  double low;
  double high;
};

inline core::TimeTable table(std::initializer_list<TestRow> rows) {
  core::TimeTable out;
  for (const TestRow& r : rows)
    out.rows.push_back({quantity::Celsius(r.celsius), hours_stated(r.low, r.high), "table 1"});
  return out;
}

inline core::TimeTable never() {
  core::StatedTime time;
  time.wording = core::Wording::no_limit;
  return {{core::Row{quantity::Celsius(20.0), time, "table 1"}}};
}

inline core::RecoatRule open_close_rule() {
  core::RecoatRule rule;
  rule.kind = core::RuleKind::open_close;
  rule.opens = table({{10, 16, 16}, {20, 8, 8}, {30, 4, 4}});
  rule.closes = table({{10, 48, 48}, {20, 24, 24}, {30, 12, 12}});
  return rule;
}

/// Ten clocks: a two-part epoxy with three rows everywhere and a stated cure floor of 8 °C.
inline core::Material three_row_epoxy() {
  core::Material m;
  m.id = quantity::SheetId("clear-epoxy");
  m.name = "Clear epoxy";
  m.family = core::Family::epoxy;
  m.cure_floor = quantity::Celsius(8.0);
  m.tack_free = table({{10, 12, 12}, {20, 6, 6}, {30, 3, 3}});
  m.sandable = table({{10, 48, 48}, {20, 24, 24}, {30, 12, 12}});
  m.handling = table({{10, 32, 32}, {20, 16, 16}, {30, 8, 8}});
  m.packing = table({{10, 96, 96}, {20, 48, 48}, {30, 24, 24}});
  m.full_cure = table({{10, 320, 320}, {20, 160, 160}, {30, 80, 80}});
  m.full_strength = table({{10, 480, 480}, {20, 240, 240}, {30, 120, 120}});
  m.recoat.push_back(open_close_rule());
  core::RecoatRule gap;
  gap.top = "self";
  gap.kind = core::RuleKind::early_gap_late;
  gap.gap_begins = table({{10, 4, 4}, {20, 2, 2}, {30, 1, 1}});
  gap.gap_ends = table({{10, 40, 40}, {20, 20, 20}, {30, 10, 10}});
  m.recoat.push_back(gap);
  return m;
}

/// One temperature only, a range, and no floor stated.
inline core::Material one_row_epoxy() {
  core::Material m;
  m.id = quantity::SheetId("plain-epoxy");
  m.name = "Plain epoxy";
  m.family = core::Family::epoxy;
  m.tack_free = table({{20, 4, 6}});
  return m;
}

/// Dries by evaporation; opens only.
inline core::Material lacquer() {
  core::Material m;
  m.id = quantity::SheetId("clear-lacquer");
  m.name = "Clear lacquer";
  m.family = core::Family::solvent_lacquer;
  m.tack_free = table({{10, 2, 2}, {20, 1, 1}, {30, 0.5, 0.5}});
  m.handling = table({{10, 16, 16}, {20, 8, 8}, {30, 4, 4}});
  return m;
}

inline core::Material water_borne() {
  core::Material m = lacquer();
  m.id = quantity::SheetId("water-clear");
  m.name = "Water clear";
  m.family = core::Family::water_borne;
  m.reference_humidity = quantity::RelativeHumidity::percent(50);
  return m;
}

inline constexpr quantity::Instant kMonday =
    quantity::Instant(std::chrono::sys_days{std::chrono::year{2031} / 3 / 3});

/// A coat on the bench, made at `at` in one pass and logged to the minute's `error`.
inline core::CoatCase coat_of(core::Material material, quantity::Instant at,
                              quantity::Span error = quantity::Span{0}) {
  core::CoatCase out;
  out.material = std::make_shared<const core::Material>(std::move(material));
  out.coat.id = quantity::EntryId(1);
  out.coat.number = 1;
  out.coat.happened = out.coat.made.first_pass = out.coat.made.last_pass = at;
  out.coat.error = error;
  out.coat.made.zone = quantity::ZoneId("bench");
  out.coat.made.sheet = out.material->id;
  return out;
}

inline core::CoatRun run_of(core::CoatCase coat) {
  return core::CoatRun(std::make_shared<const core::CoatCase>(std::move(coat)));
}

}  // namespace setwell::tests
