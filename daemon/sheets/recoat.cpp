#include "daemon/sheets/recoat.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/sheets/times.hpp"

namespace setwell::sheets {
namespace {

using core::RuleKind;
using toml_text::Table;

enum class Need { none, may, must };

/// Which times a kind of rule is made of.
struct Shape {
  RuleKind kind;
  Need opens;
  Need closes;
  Need gap;
  bool touch_may_open;
};

constexpr Shape kShapes[] = {
    {RuleKind::open_only, Need::must, Need::none, Need::none, true},
    {RuleKind::open_close, Need::must, Need::must, Need::none, true},
    {RuleKind::early_gap_late, Need::may, Need::may, Need::must, false},
    {RuleKind::after_full_cure, Need::none, Need::none, Need::none, false},
    {RuleKind::while_tacky, Need::may, Need::may, Need::none, true},
};

const Shape& shape_of(RuleKind kind) {
  for (const Shape& shape : kShapes) {
    if (shape.kind == kind) return shape;
  }
  return kShapes[0];
}

std::vector<std::pair<std::string_view, RuleKind>> kind_words() {
  std::vector<std::pair<std::string_view, RuleKind>> words;
  for (const Shape& shape : kShapes)
    words.emplace_back(core::word(shape.kind), shape.kind);
  return words;
}

struct TimesKey {
  std::string_view key;
  Need need;
  NoLimit no_limit;
};

std::optional<core::TimeTable> times(Table& table, const TimesKey& wanted, std::string_view kind,
                                     quantity::Celsius reference) {
  if (wanted.need == Need::none && table.has(wanted.key)) {
    table.fault(wanted.key, fmt::format("has no place in a rule of kind \"{}\"", kind),
                "another kind, or without this key");
  }
  if (wanted.need == Need::must && !table.has(wanted.key)) {
    table.missing(wanted.key, fmt::format("a time, which kind \"{}\" needs", kind));
  }
  return read_times(table, wanted.key, reference, wanted.no_limit);
}

void read_touch(Table& table, const Shape& shape, core::RecoatRule& rule) {
  rule.touch_opens = shape.touch_may_open;
  const auto said = table.truth("touch_opens");
  if (!said) return;
  if (*said && !shape.touch_may_open) {
    table.fault("touch_opens",
                fmt::format("no touch shows that a rule of kind \"{}\" is open", core::word(shape.kind)),
                "false, or without this key");
    return;
  }
  rule.touch_opens = *said;
}

void read_top(Table& table, core::RecoatRule& rule) {
  rule.top = table.need_text("on_top", "\"self\", \"any\", a family or a sheet's id");
  if (!rule.top.empty()) (void)table.id("on_top");
}

core::RecoatRule read_rule(Table table, quantity::Celsius reference) {
  core::RecoatRule rule;
  read_top(table, rule);
  table.need("kind", "one of open-only, open-close, early-gap-late, after-full-cure, while-tacky");
  const auto kind = table.choice("kind", kind_words());
  rule.kind = kind.value_or(RuleKind::open_only);
  Shape shape = shape_of(rule.kind);
  if (!kind) shape = {RuleKind::open_only, Need::may, Need::may, Need::may, true};
  const std::string_view name = core::word(rule.kind);
  rule.opens = times(table, {"opens", shape.opens, NoLimit::refused}, name, reference);
  rule.closes = times(table, {"closes", shape.closes, NoLimit::allowed}, name, reference);
  rule.gap_begins = times(table, {"gap_begins", shape.gap, NoLimit::refused}, name, reference);
  rule.gap_ends = times(table, {"gap_ends", shape.gap, NoLimit::refused}, name, reference);
  read_touch(table, shape, rule);
  rule.where = table.text("where").value_or("");
  table.done();
  return rule;
}

int particularity(const core::RecoatRule& rule) {
  if (rule.top == "any") return 3;
  if (rule.top == "self") return 1;
  for (const core::Family family : core::kFamilies) {
    if (rule.top == core::word(family)) return 2;
  }
  return 0;
}

}  // namespace

std::vector<core::RecoatRule> read_recoat(Table& sheet, quantity::Celsius reference) {
  std::vector<core::RecoatRule> rules;
  for (Table& table : sheet.tables("recoat")) {
    core::RecoatRule rule = read_rule(table, reference);
    const auto same = [&](const core::RecoatRule& other) { return other.top == rule.top; };
    if (!rule.top.empty() && std::any_of(rules.begin(), rules.end(), same)) {
      table.fault("on_top", fmt::format("a second rule for \"{}\"", rule.top), "one rule for each top");
    }
    rules.push_back(std::move(rule));
  }
  return rules;
}

void most_particular_first(std::vector<core::RecoatRule>& rules) {
  std::stable_sort(rules.begin(), rules.end(), [](const core::RecoatRule& a, const core::RecoatRule& b) {
    return particularity(a) < particularity(b);
  });
}

}  // namespace setwell::sheets
