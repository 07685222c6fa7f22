#include "daemon/sheets/contradictions.hpp"

#include <array>
#include <cmath>

#include <fmt/format.h>

#include "daemon/sheets/table_checks.hpp"

namespace setwell::sheets {
namespace {

using core::Material;
using quantity::Celsius;
using toml_text::Report;

struct Milestones {
  Named pot_life, flash_off, tack_free, sandable, handling, packing, full_cure, full_strength;
  explicit Milestones(const Material& m)
      : pot_life{"milestones.pot_life", &m.pot_life, "the pot life ends"},
        flash_off{"milestones.flash_off", &m.flash_off, "the flash-off ends"},
        tack_free{"milestones.tack_free", &m.tack_free, "it is tack-free"},
        sandable{"milestones.sandable", &m.sandable, "it is sandable"},
        handling{"milestones.handling", &m.handling, "it may be handled"},
        packing{"milestones.packing", &m.packing, "it may be packed"},
        full_cure{"milestones.full_cure", &m.full_cure, "it is fully cured"},
        full_strength{"milestones.full_strength", &m.full_strength, "it has its full strength"} {}
  [[nodiscard]] std::array<const Named*, 8> all() const {
    return {&pot_life, &flash_off, &tack_free, &sandable, &handling, &packing, &full_cure, &full_strength};
  }
};

void check_milestones(const Milestones& m, Report& report) {
  for (const Named* named : m.all())
    check_table(*named, report);
  expect_order(m.flash_off, m.tack_free, Order::possibly, report);
  expect_order(m.tack_free, m.sandable, Order::possibly, report);
  expect_order(m.tack_free, m.handling, Order::possibly, report);
  expect_order(m.handling, m.packing, Order::possibly, report);
  expect_order(m.sandable, m.full_cure, Order::possibly, report);
  expect_order(m.handling, m.full_cure, Order::possibly, report);
  expect_order(m.full_cure, m.full_strength, Order::possibly, report);
}

void check_recoat(const Material& material, const Milestones& m, Report& report) {
  for (std::size_t i = 0; i < material.recoat.size(); ++i) {
    const core::RecoatRule& rule = material.recoat[i];
    const auto key = [i](std::string_view name) { return fmt::format("recoat[{}].{}", i, name); };
    const Named opens{key("opens"), &rule.opens, "it opens"};
    const Named closes{key("closes"), &rule.closes, "it closes"};
    const Named begins{key("gap_begins"), &rule.gap_begins, "the gap begins"};
    const Named ends{key("gap_ends"), &rule.gap_ends, "the gap ends"};
    for (const Named* named : {&opens, &closes, &begins, &ends})
      check_table(*named, report);
    expect_order(opens, closes, Order::surely, report);
    expect_order(opens, begins, Order::surely, report);
    expect_order(begins, ends, Order::surely, report);
    expect_order(ends, closes, Order::surely, report);
    if (rule.kind == core::RuleKind::open_close) expect_order(m.flash_off, opens, Order::possibly, report);
  }
}

void check_ratios(const core::Mix& mix, Report& report) {
  for (const auto& [key, ratio] :
       {std::pair{"mix.by_weight", mix.by_weight}, {"mix.by_volume", mix.by_volume}}) {
    if (ratio && (*ratio > 20.0 || *ratio < 0.05)) {
      report.warn(key, fmt::format("{:.3g} parts of A to one of B", *ratio), "between 20:1 and 1:20");
    }
  }
  if (!mix.by_weight || !mix.by_volume || !mix.density_a || !mix.density_b) return;
  const double weight = *mix.by_volume * mix.density_a->value() / mix.density_b->value();
  if (std::abs(weight / *mix.by_weight - 1.0) <= mix.tolerance) return;
  report.warn(
      "mix.by_weight",
      fmt::format("{:.3g}:1 by weight, but volumes and densities make {:.3g}:1", *mix.by_weight, weight),
      "figures that agree within the tolerance; ask the manufacturer which one holds");
}

void check_densities(const core::Mix& mix, Report& report) {
  for (const auto& [key, density] :
       {std::pair{"mix.density_a", mix.density_a}, {"mix.density_b", mix.density_b}}) {
    if (density && (density->value() < 0.5 || density->value() > 3.0)) {
      report.warn(key, fmt::format("a liquid of {:g} g/cm3", density->value()),
                  "0.5 to 3 g/cm3; is the unit right?");
    }
  }
}

void check_mix(const Material& material, Report& report) {
  if (!material.mix) return;
  check_ratios(*material.mix, report);
  check_densities(*material.mix, report);
  const auto& stir = material.mix->stir;
  const auto lasts = material.pot_life
                         ? hours_at(*material.pot_life, material.reference_temperature, End::low)
                         : std::nullopt;
  if (stir && lasts && *lasts * 60.0 <= stir->count())
    report.warn("mix.stir", "the pot life is over before the stirring",
                "a stirring time inside the pot life");
  const auto& induction = material.mix->induction;
  if (!induction || !material.pot_life) return;
  const auto pot = hours_at(*material.pot_life, material.reference_temperature, End::low);
  if (pot && *pot * 60.0 <= induction->count()) {
    report.warn("mix.induction", "the pot life is over before the standing time",
                "a standing time inside the pot life");
  }
}

void check_floor(const Material& material, const Milestones& m, Report& report) {
  if (material.apply_least && *material.apply_least > material.reference_temperature) {
    report.warn("application.least", "above the reference temperature", "a lowest temperature below it");
  }
  if (!material.cure_floor) return;
  const Celsius floor = *material.cure_floor;
  if (floor > material.reference_temperature) {
    report.warn("cure.floor", "above the reference temperature", "a floor below it: cure stops under it");
  }
  if (material.apply_least && *material.apply_least < floor) {
    report.warn("application.least", "below the temperature at which cure stops",
                "a lowest temperature above cure.floor");
  }
  for (const Named* named : m.all()) {
    if (*named->table && (*named->table)->rows.front().at < floor) {
      report.warn(named->key,
                  fmt::format("a time at {:.3g} C, though cure stops below {:.3g} C",
                              (*named->table)->rows.front().at.degrees(), floor.degrees()),
                  "rows above cure.floor; is it the lowest application temperature that the sheet means?");
    }
  }
}

/// Figures that no such test was made at.
void check_reference(const Material& material, Report& report) {
  const double t = material.reference_temperature.degrees();
  if (t < 5.0 || t > 40.0)
    report.warn("reference.temperature", fmt::format("times measured at {:.3g} C", t),
                "a temperature of a room; is the unit right?");
  const auto& humidity = material.reference_humidity;
  if (humidity && (humidity->in_percent() < 10.0 || humidity->in_percent() > 90.0))
    report.warn("reference.humidity", fmt::format("times measured at {:.3g} %", humidity->in_percent()),
                "a humidity of a room, mostly 50 %");
  const auto& film = material.reference_film;
  if (film && (film->value() < 1.0 || film->value() > 100'000.0))
    report.warn("reference.film", fmt::format("a film of {:g} um", film->value()),
                "1 um to 100 mm; is the unit right?");
  const auto& mass = material.pot_test_mass;
  if (mass && (mass->value() < 5.0 || mass->value() > 3000.0))
    report.warn("reference.pot_mass", fmt::format("a pot life measured with {:g} g", mass->value()),
                "5 g to 3 kg; is the unit right?");
}

/// Lamp time is minutes, and warmth has hardly a part in it.
void check_lamp(const Material& material, const Milestones& m, Report& report) {
  if (material.family != core::Family::light_cured) return;
  for (const Named* named : {&m.tack_free, &m.sandable, &m.handling, &m.packing, &m.full_cure}) {
    if (!*named->table) continue;
    const auto& rows = (*named->table)->rows;
    if (rows.back().time.high.count() > 2.0)
      report.warn(named->key, "more than 2 h: a light-cured film counts the time under its lamp",
                  "minutes under the lamp");
    if (rows.size() > 1)
      report.warn(named->key, "several temperatures, though light cures it; the longest time is taken",
                  "one time under the lamp");
  }
}

/// The advised range lies inside the limit.
template <typename Value>
void check_inside(const std::string& key, const core::Between<Value>& advised,
                  const core::Between<Value>& limit, Report& report) {
  const bool lower = advised.least && limit.least && *advised.least < *limit.least;
  const bool upper = advised.most && limit.most && *advised.most > *limit.most;
  if (lower || upper) report.warn(key, "wider than the limit", "an advised range inside the limit");
}

void check_phase(const std::string& name, const core::PhaseConditions& phase, Report& report) {
  const std::string advised = name + ".advised";
  check_inside(advised + ".temperature", phase.advised.temperature, phase.limit.temperature, report);
  check_inside(advised + ".humidity", phase.advised.humidity, phase.limit.humidity, report);
  if (phase.advised.dew_margin && phase.limit.dew_margin &&
      *phase.advised.dew_margin < *phase.limit.dew_margin) {
    report.warn(advised + ".dew_margin", "less than the limit asks",
                "an advised margin of at least the limit");
  }
}

void check_reference_inside(const Material& material, Report& report) {
  const auto& limit = material.application.limit;
  const Celsius t = material.reference_temperature;
  if ((limit.temperature.least && t < *limit.temperature.least) ||
      (limit.temperature.most && t > *limit.temperature.most)) {
    report.warn("application.limit.temperature", "the reference temperature lies outside it",
                "a limit around the temperature the times were measured at");
  }
  const auto& humidity = material.reference_humidity;
  if (humidity && ((limit.humidity.least && *humidity < *limit.humidity.least) ||
                   (limit.humidity.most && *humidity > *limit.humidity.most))) {
    report.warn("application.limit.humidity", "the reference humidity lies outside it",
                "a limit around the humidity the times were measured at");
  }
}

}  // namespace

void check_rules(const Material& material, Report& report) {
  for (std::size_t i = 0; i < material.recoat.size(); ++i) {
    if (material.recoat[i].kind != core::RuleKind::after_full_cure || material.full_cure) continue;
    report.fault(fmt::format("recoat[{}].kind", i), "after-full-cure, but the sheet states no full cure",
                 "a time for milestones.full_cure");
  }
}

void warn_of_contradictions(const Material& material, Report& report) {
  const Milestones milestones(material);
  check_milestones(milestones, report);
  check_recoat(material, milestones, report);
  check_mix(material, report);
  check_floor(material, milestones, report);
  check_phase("application", material.application, report);
  check_phase("cure", material.cure, report);
  check_reference_inside(material, report);
  check_reference(material, report);
  check_lamp(material, milestones, report);
}

}  // namespace setwell::sheets
