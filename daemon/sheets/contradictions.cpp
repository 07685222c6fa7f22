#include "daemon/sheets/contradictions.hpp"

#include <array>
#include <cmath>
#include <set>

#include <fmt/format.h>

namespace setwell::sheets {
namespace {

using core::Material;
using core::TimeTable;
using core::Wording;
using quantity::Celsius;
using toml_text::Report;

/// Shorter and longer than any coat takes: a slip of the unit.
constexpr double kShortestHours = 10.0 / 3600.0;
constexpr double kLongestHours = 24.0 * 120.0;
/// Published tables reach a factor of 7.8 per 10 K; twice that is a slip.
constexpr double kSteepestPerTenKelvin = 16.0;

enum class End { low, high };

double hours_of(const core::StatedTime& time, End end) {
  return (end == End::low ? time.low : time.high).count();
}

bool endless(const core::Row& row) {
  return row.time.wording == Wording::no_limit;
}

/// The stated time at a temperature the table covers; nothing outside it, or where it has no limit.
std::optional<double> hours_at(const TimeTable& table, Celsius at, End end) {
  const core::Row* below = nullptr;
  for (const core::Row& row : table.rows) {
    if (row.at == at) return endless(row) ? std::nullopt : std::optional(hours_of(row.time, end));
    if (row.at < at) {
      below = &row;
      continue;
    }
    if (!below || endless(row) || endless(*below)) return std::nullopt;
    const double whole = 1.0 / below->at.kelvin() - 1.0 / row.at.kelvin();
    const double part = (1.0 / below->at.kelvin() - 1.0 / at.kelvin()) / whole;
    const double cold = std::log(hours_of(below->time, end));
    return std::exp(cold + part * (std::log(hours_of(row.time, end)) - cold));
  }
  return std::nullopt;
}

/// One table with the key it stands under and what it tells, as in "… closes before it opens".
struct Named {
  std::string key;
  const std::optional<TimeTable>* table;
  std::string_view tells;
};

std::string in_words(double hours) {
  if (hours < 1.0) return fmt::format("{:.3g} min", hours * 60.0);
  return hours < 72.0 ? fmt::format("{:.3g} h", hours) : fmt::format("{:.3g} d", hours / 24.0);
}

std::set<Celsius> temperatures_of(const TimeTable& a, const TimeTable& b) {
  std::set<Celsius> all;
  for (const core::Row& row : a.rows)
    all.insert(row.at);
  for (const core::Row& row : b.rows)
    all.insert(row.at);
  return all;
}

/// How strictly one moment must come before another.
enum class Order {
  surely,    ///< the whole span before: an opening and its closing
  possibly,  ///< some of the span before: stages of one cure
};

/// Warns once, at the coldest temperature where `first` does not come before `second`.
void expect_order(const Named& first, const Named& second, Order order, Report& report) {
  if (!*first.table || !*second.table) return;
  const bool surely = order == Order::surely;
  for (const Celsius at : temperatures_of(**first.table, **second.table)) {
    const auto early = hours_at(**first.table, at, surely ? End::high : End::low);
    const auto late = hours_at(**second.table, at, surely ? End::low : End::high);
    if (!early || !late || (surely ? *early < *late : *early <= *late)) continue;
    report.warn(second.key,
                fmt::format("at {:g} C {} after {}, but {} after {}", at.degrees(), second.tells,
                            in_words(*late), first.tells, in_words(*early)),
                fmt::format("{} before {}; look the rows up in the datasheet", first.key, second.key));
    return;
  }
}

void check_row(const Named& named, const core::Row& row, Report& report) {
  if (row.at.degrees() < -40.0 || row.at.degrees() > 120.0) {
    report.warn(named.key, fmt::format("a row at {:.4g} C", row.at.degrees()),
                "the temperature of a workshop");
  }
  if (endless(row)) return;
  if (hours_of(row.time, End::low) < kShortestHours || hours_of(row.time, End::high) > kLongestHours) {
    report.warn(named.key,
                fmt::format("at {:g} C it {} after {}", row.at.degrees(), named.tells,
                            in_words(hours_of(row.time, End::high))),
                "10 s to 120 d; is the unit right?");
  }
}

void check_neighbours(const Named& named, const core::Row& cold, const core::Row& warm, Report& report) {
  if (endless(cold) || endless(warm)) return;
  const auto rises = [&](End end) { return hours_of(warm.time, end) > hours_of(cold.time, end); };
  if (rises(End::low) || rises(End::high)) {
    report.warn(named.key,
                fmt::format("it takes longer at {:g} C than at {:g} C", warm.at.degrees(), cold.at.degrees()),
                "times that fall as it gets warmer");
    return;
  }
  const double factor = hours_of(cold.time, End::low) / hours_of(warm.time, End::low);
  const double tens = (warm.at - cold.at).kelvin() / 10.0;
  if (std::log(factor) > std::log(kSteepestPerTenKelvin) * tens && factor > 2.0) {
    report.warn(named.key,
                fmt::format("{:.3g} times as long at {:g} C as at {:g} C", factor, cold.at.degrees(),
                            warm.at.degrees()),
                "at most 16 times for each 10 K; is the unit right?");
  }
}

void check_table(const Named& named, Report& report) {
  if (!*named.table) return;
  const auto& rows = (*named.table)->rows;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    check_row(named, rows[i], report);
    if (i > 0) check_neighbours(named, rows[i - 1], rows[i], report);
  }
}

struct Milestones {
  Named pot_life, flash_off, tack_free, sandable, handling, packing, full_cure, full_strength;
  explicit Milestones(const Material& m)
      : pot_life{"milestones.pot_life", &m.pot_life, "the pot life ends"},
        flash_off{"milestones.flash_off", &m.flash_off, "the flash-off ends"},
        tack_free{"milestones.tack_free", &m.tack_free, "is tack-free"},
        sandable{"milestones.sandable", &m.sandable, "is sandable"},
        handling{"milestones.handling", &m.handling, "may be handled"},
        packing{"milestones.packing", &m.packing, "may be packed"},
        full_cure{"milestones.full_cure", &m.full_cure, "is fully cured"},
        full_strength{"milestones.full_strength", &m.full_strength, "has its full strength"} {}
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
    const Named opens{key("opens"), &rule.opens, "opens"};
    const Named closes{key("closes"), &rule.closes, "closes"};
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
                  fmt::format("a time at {:g} C, though cure stops below {:g} C",
                              (*named->table)->rows.front().at.degrees(), floor.degrees()),
                  "rows above cure.floor; is it the lowest application temperature that the sheet means?");
    }
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
}

}  // namespace setwell::sheets
