#include "daemon/sheets/table_checks.hpp"

#include <cmath>
#include <set>

#include <fmt/format.h>

namespace setwell::sheets {
namespace {

using core::TimeTable;
using core::Wording;
using quantity::Celsius;
using toml_text::Report;

/// Shorter and longer than any coat takes: a slip of the unit.
constexpr double kShortestHours = 10.0 / 3600.0;
constexpr double kLongestHours = 24.0 * 120.0;
/// Published tables reach a factor of 7.8 per 10 K.
constexpr double kSteepestPerTenKelvin = 16.0;

double hours_of(const core::StatedTime& time, End end) {
  return (end == End::low ? time.low : time.high).count();
}

bool endless(const core::Row& row) {
  return row.time.wording == Wording::no_limit;
}

std::string in_words(double hours) {
  if (hours < 1.0 / 60.0) return fmt::format("{:.3g} s", hours * 3600.0);
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

void check_row(const Named& named, const core::Row& row, Report& report) {
  if (row.at.degrees() < -40.0 || row.at.degrees() > 120.0) {
    report.warn(named.key, fmt::format("a row at {:.3g} C", row.at.degrees()),
                "the temperature of a workshop");
  }
  if (endless(row)) return;
  if (hours_of(row.time, End::low) < kShortestHours || hours_of(row.time, End::high) > kLongestHours) {
    report.warn(named.key,
                fmt::format("at {:.3g} C {} after {}", row.at.degrees(), named.tells,
                            in_words(hours_of(row.time, End::high))),
                "10 s to 120 d; is the unit right?");
  }
}

void check_neighbours(const Named& named, const core::Row& cold, const core::Row& warm, Report& report) {
  if (endless(cold) || endless(warm)) return;
  const auto rises = [&](End end) { return hours_of(warm.time, end) > hours_of(cold.time, end); };
  if (rises(End::low) || rises(End::high)) {
    report.warn(
        named.key,
        fmt::format("it takes longer at {:.3g} C than at {:.3g} C", warm.at.degrees(), cold.at.degrees()),
        "times that fall as it gets warmer");
    return;
  }
  const double factor = hours_of(cold.time, End::low) / hours_of(warm.time, End::low);
  const double tens = (warm.at - cold.at).kelvin() / 10.0;
  if (std::log(factor) > std::log(kSteepestPerTenKelvin) * tens && factor > 2.0) {
    report.warn(named.key,
                fmt::format("{:.3g} times as long at {:.3g} C as at {:.3g} C", factor, cold.at.degrees(),
                            warm.at.degrees()),
                "at most 16 times for each 10 K; is the unit right?");
  }
}

}  // namespace

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

void check_table(const Named& named, Report& report) {
  if (!*named.table) return;
  const auto& rows = (*named.table)->rows;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    check_row(named, rows[i], report);
    if (i > 0) check_neighbours(named, rows[i - 1], rows[i], report);
  }
}

void expect_order(const Named& first, const Named& second, Order order, Report& report) {
  if (!*first.table || !*second.table) return;
  const bool surely = order == Order::surely;
  for (const Celsius at : temperatures_of(**first.table, **second.table)) {
    const auto early = hours_at(**first.table, at, surely ? End::high : End::low);
    const auto late = hours_at(**second.table, at, surely ? End::low : End::high);
    if (!early || !late || (surely ? *early < *late : *early <= *late)) continue;
    report.warn(second.key,
                fmt::format("at {:.3g} C {} after {}, but {} after {}", at.degrees(), second.tells,
                            in_words(*late), first.tells, in_words(*early)),
                fmt::format("{} before {}; look the rows up in the datasheet", first.key, second.key));
    return;
  }
}

}  // namespace setwell::sheets
