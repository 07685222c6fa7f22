#include "daemon/core/outside.hpp"

#include <array>
#include <chrono>
#include <cmath>

#include "daemon/core/drying.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

struct KindWords {
  const char* what;
  const char* unit;
  bool from_below;
};

KindWords words_of(ConditionKind kind) {
  switch (kind) {
    case ConditionKind::air_least:
      return {"air below", "degC", true};
    case ConditionKind::air_most:
      return {"air above", "degC", false};
    case ConditionKind::humidity_least:
      return {"humidity below", "%", true};
    case ConditionKind::humidity_most:
      return {"humidity above", "%", false};
    case ConditionKind::dew_margin:
      return {"dew margin below", "K", true};
    case ConditionKind::apply_least:
      return {"air below", "degC", true};
  }
  return {"", "", true};
}

struct Phase {
  Instant from, to;
  PhaseEnd ends;
};

void add_bounds(std::vector<ConditionRule>& rules, const Conditions& c, bool is_limit, const Phase& phase) {
  const auto add = [&](ConditionKind kind, double bound) {
    rules.push_back({kind, bound, is_limit, phase.from, phase.to, phase.ends});
  };
  if (c.temperature.least) add(ConditionKind::air_least, c.temperature.least->degrees());
  if (c.temperature.most) add(ConditionKind::air_most, c.temperature.most->degrees());
  if (c.humidity.least) add(ConditionKind::humidity_least, c.humidity.least->in_percent());
  if (c.humidity.most) add(ConditionKind::humidity_most, c.humidity.most->in_percent());
  if (c.dew_margin) add(ConditionKind::dew_margin, c.dew_margin->kelvin());
}

Phase phase_from(Instant first, Instant last, const std::optional<quantity::Hours>& lasts,
                 PhaseEnd otherwise) {
  if (!lasts) return {first, last, otherwise};
  return {first, last + std::chrono::round<quantity::Span>(*lasts), PhaseEnd::at_a_time};
}

/// What the trade asks where the sheet asks nothing.
void add_trade_margins(std::vector<ConditionRule>& rules, const Material& material, const Phase& curing) {
  const auto margin = least_dew_margin(material.family, Film::set).kelvin();
  const auto flashing = least_dew_margin(material.family, Film::flashing).kelvin();
  rules.push_back({ConditionKind::dew_margin, margin, false, curing.from, curing.to, curing.ends});
  if (flashing > margin)
    rules.push_back(
        {ConditionKind::dew_margin, flashing, false, curing.from, curing.to, PhaseEnd::flash_off});
}

}  // namespace

std::vector<ConditionRule> conditions_of(const Material& material, Instant first, Instant last) {
  std::vector<ConditionRule> rules;
  const Phase applying = phase_from(first, last, material.application.lasts, PhaseEnd::at_a_time);
  const Phase curing = phase_from(first, last, material.cure.lasts, PhaseEnd::tack_free);
  add_bounds(rules, material.application.limit, true, applying);
  add_bounds(rules, material.application.advised, false, applying);
  if (material.apply_least)
    rules.push_back({ConditionKind::apply_least, material.apply_least->degrees(), false, first, last});
  add_bounds(rules, material.cure.limit, true, curing);
  add_bounds(rules, material.cure.advised, false, curing);
  if (!material.cure.limit.dew_margin && !material.cure.advised.dew_margin)
    add_trade_margins(rules, material, curing);
  return rules;
}

std::optional<ConditionStanding> standing_of(const ConditionRule& rule, const Moment& moment) {
  const auto against = [&](std::optional<double> value) -> std::optional<ConditionStanding> {
    if (!value) return std::nullopt;
    return ConditionStanding{*value,
                             words_of(rule.kind).from_below ? *value < rule.bound : *value > rule.bound};
  };
  switch (rule.kind) {
    case ConditionKind::air_least:
    case ConditionKind::air_most:
    case ConditionKind::apply_least:
      return against(moment.air_c);
    case ConditionKind::humidity_least:
    case ConditionKind::humidity_most:
      return against(moment.humidity_percent);
    case ConditionKind::dew_margin:
      break;
  }
  if (!moment.dew) return std::nullopt;
  const double margin = moment.dew->margin.kelvin();
  return against(rule.is_limit ? margin - moment.dew->error.kelvin() : margin);
}

bool worse(const ConditionRule& rule, double a, double b) {
  return words_of(rule.kind).from_below ? a < b : a > b;
}

OutsideCondition told(const ConditionRule& rule, double worst, Instant since) {
  const KindWords words = words_of(rule.kind);
  std::string against = rule.is_limit ? " the limit" : " the advised range";
  if (rule.kind == ConditionKind::dew_margin) against = rule.is_limit ? " the limit" : " the advised least";
  if (rule.ends == PhaseEnd::flash_off) against = " the advised least while it flashes off";
  if (rule.kind == ConditionKind::apply_least) against = " the lowest application temperature";
  return {words.what + against, worst, rule.bound, words.unit, since, rule.is_limit, {}, false};
}

}  // namespace setwell::core
