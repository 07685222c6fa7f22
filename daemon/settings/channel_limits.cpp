#include "daemon/settings/channel_limits.hpp"

namespace setwell::settings {
namespace {

using decode::ChannelSpec;
using quantity::MeasuredQuantity;
using toml_text::Node;
using toml_text::NodeKind;
using toml_text::Table;

bool is_number(const Node& node) {
  return node.kind == NodeKind::whole || node.kind == NodeKind::number;
}

void read_sentinels(Table& table, ChannelSpec& spec) {
  const auto* list = table.find("sentinels");
  if (!list) return;
  for (const Node& item : list->items) {
    if (is_number(item)) spec.sentinels.push_back(item.number);
  }
  if (list->kind != NodeKind::list || spec.sentinels.size() != list->items.size()) {
    table.fault("sentinels", "not a list of numbers", "as they are sent (after scale), like [85.0, -127]");
  }
}

void read_range(Table& table, ChannelSpec& spec) {
  const auto* list = table.find("range");
  if (!list) return;
  const bool two = list->kind == NodeKind::list && list->items.size() == 2 && is_number(list->items[0]) &&
                   is_number(list->items[1]);
  if (two && list->items[0].number < list->items[1].number) {
    spec.range = decode::Range{list->items[0].number, list->items[1].number};
    return;
  }
  table.fault("range", "not two numbers, the lower first", "in C or % after conversion, like [-40, 85]");
}

quantity::Span read_span(Table& table, std::string_view key, quantity::Span unset) {
  const auto written = table.figure(key, toml_text::hours_or_none);
  if (written && *written > quantity::Hours(24.0 * 366.0)) {
    table.fault(key, "longer than a year", "a shorter time");
    return unset;
  }
  return written ? std::chrono::round<quantity::Span>(*written) : unset;
}

/// ± or an amount to add, in the quantity's own unit: `0.5 K` or `5 %`.
std::optional<double> amount(Table& table, std::string_view key, MeasuredQuantity quantity) {
  if (decode::is_temperature(quantity)) {
    const auto delta = table.figure(key, toml_text::kelvin);
    return delta ? std::optional(delta->kelvin()) : std::nullopt;
  }
  const auto points = table.figure(key, toml_text::percent_points);
  return points ? std::optional(*points) : std::nullopt;
}

void read_error(Table& table, ChannelSpec& spec) {
  spec.error = amount(table, "error", spec.quantity);
  if (spec.error && *spec.error < 0.0)
    table.fault("error", "negative", "the ± of the sensor's data, like \"0.5 K\"");
}

std::optional<quantity::Instant> read_valid_from(Table& table) {
  const auto* node = table.need("valid_from", "when it was found, like 2031-02-01T08:00:00Z");
  if (!node) return std::nullopt;
  const auto at = quantity::parse_rfc3339(node->text);
  if (!at) table.fault("valid_from", "no moment with its offset", "like 2031-02-01T08:00:00Z");
  return at;
}

/// One amount that always holds, or a list of amounts with the moment each holds from.
void read_offset(Table& table, ChannelSpec& spec) {
  const auto* node = table.find("offset");
  if (!node) return;
  if (node->kind != NodeKind::list) {
    if (const auto add = amount(table, "offset", spec.quantity))
      spec.offset.push_back({*add, quantity::Instant::min()});
    return;
  }
  for (Table& inside : table.tables("offset")) {
    inside.need("add", "what to add to its readings, like \"-0.3 K\"");
    const auto add = amount(inside, "add", spec.quantity);
    const auto from = read_valid_from(inside);
    inside.done();
    if (!add || !from) continue;
    if (!spec.offset.empty() && *from <= spec.offset.back().valid_from) {
      inside.fault("valid_from", "not after the one before", "calibrations in the order of time");
    }
    spec.offset.push_back({*add, *from});
  }
}

}  // namespace

void read_limits(Table& table, ChannelSpec& spec) {
  read_sentinels(table, spec);
  read_range(table, spec);
  spec.settle = read_span(table, "settle", spec.settle);
  spec.silent_after = read_span(table, "silent_after", spec.silent_after);
  spec.stuck_after = read_span(table, "stuck_after", spec.stuck_after);
  read_error(table, spec);
  read_offset(table, spec);
}

}  // namespace setwell::settings
