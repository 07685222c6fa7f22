#include "daemon/sheets/times.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace setwell::sheets {
namespace {

using toml_text::Bound;
using toml_text::NodeKind;
using toml_text::Table;

constexpr std::string_view kTimeRight = "a time with its unit, like \"4 h\", \"4-6 h\", \"at least 30 min\"";
constexpr std::string_view kRowsRight =
    "\"4 h\" (at the reference temperature) or [{at = \"23 C\", time = \"4 h\"}, …]";

/// Kelvin: 73 F and 23 C are two rows, 73.4 F and 23 C are one.
constexpr double kSameTemperature = 0.05;

core::Wording wording(Bound bound) {
  switch (bound) {
    case Bound::exact:
      return core::Wording::exact;
    case Bound::range:
      return core::Wording::range;
    case Bound::at_least:
      return core::Wording::at_least;
    case Bound::at_most:
      return core::Wording::at_most;
  }
  return core::Wording::exact;
}

/// Everything the rows of one table have in common.
struct Context {
  quantity::Celsius reference;
  NoLimit no_limit;
  std::string where;
};

std::optional<core::StatedTime> stated(Table& table, std::string_view key, NoLimit no_limit) {
  const auto* node = table.need(key, kTimeRight);
  if (!node) return std::nullopt;
  if (node->kind == NodeKind::text && node->text == "no limit") {
    if (no_limit == NoLimit::allowed) return core::StatedTime{core::Wording::no_limit};
    table.fault(key, "\"no limit\" says nothing about this moment", std::string(kTimeRight));
    return std::nullopt;
  }
  const auto read = table.figure(key, toml_text::bounded_hours);
  if (!read) return std::nullopt;
  return core::StatedTime{wording(read->bound), read->low, read->high};
}

std::optional<core::Row> row(Table table, const Context& context) {
  table.need("at", "the temperature it holds at, like \"23 C\"");
  const auto at = table.figure("at", toml_text::celsius);
  const auto time = stated(table, "time", context.no_limit);
  auto where = table.text("where");
  table.done();
  if (!at || !time) return std::nullopt;
  return core::Row{*at, *time, where.value_or(context.where)};
}

void add_row(core::TimeTable& times, core::Row row, Table& parent, const std::string& path) {
  const auto same = [&](const core::Row& other) {
    return std::abs((other.at - row.at).kelvin()) < kSameTemperature;
  };
  if (std::any_of(times.rows.begin(), times.rows.end(), same)) {
    parent.report().fault(path, fmt::format("a second time at {:.3g} C", row.at.degrees()),
                          "one row for each temperature; a span as \"4-6 h\"");
    return;
  }
  times.rows.push_back(std::move(row));
}

std::optional<core::TimeTable> rows(Table& parent, std::string_view key, const Context& context) {
  core::TimeTable times;
  const auto& list = *parent.find(key);
  if (list.items.empty()) parent.fault(key, "an empty list", std::string(kRowsRight));
  for (Table& table : parent.tables(key, kRowsRight)) {
    if (auto read = row(table, context)) add_row(times, std::move(*read), parent, table.path());
  }
  std::sort(times.rows.begin(), times.rows.end(),
            [](const core::Row& a, const core::Row& b) { return a.at < b.at; });
  return times.rows.empty() ? std::nullopt : std::optional(std::move(times));
}

std::optional<core::TimeTable> read_flat(Table& table, std::string_view key, const Context& context) {
  const auto* node = table.find(key);
  if (!node) return std::nullopt;
  if (node->kind == NodeKind::list) return rows(table, key, context);
  if (node->kind == NodeKind::table) {
    table.fault(key, "a table where times belong", std::string(kRowsRight));
    return std::nullopt;
  }
  const auto time = stated(table, key, context.no_limit);
  if (!time) return std::nullopt;
  return core::TimeTable{{core::Row{context.reference, *time, context.where}}};
}

}  // namespace

std::optional<core::TimeTable> read_times(Table& table, std::string_view key, quantity::Celsius reference,
                                          NoLimit no_limit) {
  const auto* node = table.find(key);
  if (!node) return std::nullopt;
  if (node->kind != NodeKind::table) return read_flat(table, key, {reference, no_limit, {}});
  auto inside = table.table(key);
  if (!inside) return std::nullopt;
  auto where = inside->text("where");
  inside->need("times", kRowsRight);
  auto times = read_flat(*inside, "times", {reference, no_limit, where.value_or("")});
  inside->done();
  return times;
}

}  // namespace setwell::sheets
