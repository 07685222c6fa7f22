#include <algorithm>
#include <cmath>

#include "daemon/cases/parts.hpp"
#include "sensors/decode/formats/room_csv.hpp"

/// The air of a zone: a recorded room, rows of values, or values spread over a span.
namespace setwell::cases {

using quantity::Instant;
using quantity::Span;
using toml_text::Node;
using toml_text::NodeKind;
using toml_text::Table;

namespace {

constexpr Span kFinest = std::chrono::minutes(10);
constexpr Span kUsuallySilentAfter = std::chrono::minutes(150);
constexpr double kUsualErrorK = 0.5, kUsualErrorPercent = 5.0;

struct Errors {
  double kelvin = kUsualErrorK, percent = kUsualErrorPercent;
};

/// One text, or a list of them.
template <typename T>
std::vector<T> figures(Table& table, std::string_view key, toml_text::Read<T> (*read)(std::string_view)) {
  std::vector<T> values;
  const Node* node = table.find(key);
  if (node == nullptr) return values;
  const auto take = [&](const Node& item) {
    const auto value = item.kind == NodeKind::text ? read(item.text) : read("");
    if (value.value) {
      values.push_back(*value.value);
    } else {
      table.fault(key, item.kind == NodeKind::text ? value.wrong.what : "is no figure with its unit",
                  value.wrong.right);
    }
  };
  if (node->kind == NodeKind::list) {
    std::for_each(node->items.begin(), node->items.end(), take);
  } else {
    take(*node);
  }
  return values;
}

/// Bare numbers whose key says the unit.
std::vector<double> numbers(Table& table, std::string_view key, double least, double most) {
  std::vector<double> values;
  const Node* node = table.find(key);
  if (node == nullptr) return values;
  for (const auto& item : node->items) {
    const bool number = item.kind == NodeKind::number || item.kind == NodeKind::whole;
    if (number && item.number >= least && item.number <= most) {
      values.push_back(item.number);
    } else {
      table.fault(key, "holds something that is no plausible number", "a list as [18.5, 18.2, 17.9]");
      return {};
    }
  }
  return values;
}

/// Values at even distances over the span, straight lines between.
double spread(const std::vector<double>& values, double share) {
  const double place = share * static_cast<double>(values.size() - 1);
  const auto index = std::min(static_cast<std::size_t>(place), values.size() - 1);
  if (index + 1 >= values.size()) return values.back();
  const double part = place - static_cast<double>(index);
  return values[index] + part * (values[index + 1] - values[index]);
}

template <typename Put>
void over_span(const std::vector<double>& values, Instant from, Instant to, Put put) {
  if (values.empty() || to <= from) return;
  const auto steps = std::max<std::int64_t>(1, (to - from) / kFinest);
  for (std::int64_t i = 0; i <= steps; ++i) {
    const double share = static_cast<double>(i) / static_cast<double>(steps);
    put(from + (to - from) * i / steps, spread(values, share));
  }
}

class Zone {
 public:
  Zone(Table& table, core::AirHistory& history, Errors errors)
      : table_(table), history_(history), errors_(errors) {}

  void air(Instant at, double celsius) { history_.put_temperature({at, celsius, errors_.kelvin}); }
  void damp(Instant at, double percent) { history_.put_humidity({at, percent, errors_.percent}); }

  void room(const std::string& name, const FileText& files) {
    const auto text = files(name);
    if (!text) return table_.fault("csv", text.error().detail, "a file beside this one");
    const auto rows = decode::parse_room_csv(*text);
    if (!rows) return table_.fault("csv", rows.error().detail, "time,temperature_c,humidity_pct");
    for (const auto& row : *rows) {
      air(row.at, row.temperature_c);
      damp(row.at, row.humidity_pct);
    }
  }

  void stretch(Table& table, Instant start) {
    const Instant from = need_moment(table, "from", start);
    if (table.has("every")) {
      rows(table, from);
    } else {
      const Instant to = need_moment(table, "to", start);
      if (to <= from) table.fault("to", "is not after `from`", "a later moment");
      values(table, from, to);
    }
    table.done();
  }

 private:
  void values(Table& table, Instant from, Instant to) {
    std::vector<double> celsius, percent;
    for (const auto& value : figures(table, "temperature", toml_text::celsius))
      celsius.push_back(value.degrees());
    for (const auto& value : figures(table, "humidity", toml_text::humidity))
      percent.push_back(value.in_percent());
    over_span(celsius, from, to, [&](Instant at, double value) { air(at, value); });
    over_span(percent, from, to, [&](Instant at, double value) { damp(at, value); });
  }

  void rows(Table& table, Instant from) {
    const auto every = span(table, "every").value_or(std::chrono::hours(1));
    if (every <= Span(0)) return table.fault("every", "is no span", "\"1 h\"");
    auto celsius = numbers(table, "temperature_c", -50, 100);
    for (const double fahrenheit : numbers(table, "temperature_f", -50, 200))
      celsius.push_back((fahrenheit - 32) / 1.8);
    const auto percent = numbers(table, "humidity_pct", 0, 100);
    for (std::size_t i = 0; i < celsius.size(); ++i)
      air(from + every * static_cast<std::int64_t>(i), celsius[i]);
    for (std::size_t i = 0; i < percent.size(); ++i)
      damp(from + every * static_cast<std::int64_t>(i), percent[i]);
  }

  Table& table_;
  core::AirHistory& history_;
  Errors errors_;
};

}  // namespace

void read_zone(Table& table, Draft& draft, const FileText& files) {
  const quantity::ZoneId id(table.need_id("id"));
  const auto silent = span(table, "silent_after").value_or(kUsuallySilentAfter);
  const Errors errors{table.number("error_k", 0, 10).value_or(kUsualErrorK),
                      table.number("error_pct", 0, 50).value_or(kUsualErrorPercent)};
  core::AirHistory history({silent, silent});
  Zone zone(table, history, errors);
  if (const auto csv = table.text("csv")) zone.room(*csv, files);
  for (Table& stretch : table.tables("air"))
    zone.stretch(stretch, draft.start);
  for (Table& reading : table.tables("reading")) {
    const Instant at = need_moment(reading, "at", draft.start);
    if (const auto air = reading.figure("temperature", toml_text::celsius)) zone.air(at, air->degrees());
    if (const auto damp = reading.figure("humidity", toml_text::humidity)) zone.damp(at, damp->in_percent());
    reading.done();
  }
  table.done();
  if (!draft.rooms->emplace(id, std::move(history)).second)
    table.fault("id", "stands twice", "one [[zone]] per id");
}

}  // namespace setwell::cases
