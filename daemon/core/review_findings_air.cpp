#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/blush.hpp"
#include "daemon/core/drying.hpp"
#include "daemon/core/review_findings.hpp"

/// What the air says. Thresholds are judgements; where a sheet states a bound, the bound decides.
namespace setwell::core {

using quantity::Instant;

namespace {

constexpr double kLongHours = 4.0, kLargeShare = 0.25;

std::string degrees(const CaseFile& file, double celsius) {
  const auto value = quantity::Celsius::from(celsius);
  return value ? show(*value, file.display) : "?";
}

/// Least and most of the first hours, and whether four fifths of them were recorded.
PhaseFacts first_hours(const CoatFacts& coat, double hours) {
  const Instant from = coat.coat->made.first_pass;
  const auto to = std::min(coat.until, from + std::chrono::round<quantity::Span>(quantity::Hours(hours)));
  return phase_facts(coat.steps, "", from, to, false);
}

std::optional<double> coldest_allowed(const Material& material) {
  if (material.cure.limit.temperature.least) return material.cure.limit.temperature.least->degrees();
  if (material.application.limit.temperature.least)
    return material.application.limit.temperature.least->degrees();
  if (material.apply_least) return material.apply_least->degrees();
  return std::nullopt;
}

std::optional<double> coldest_advised(const Material& material) {
  if (material.cure.advised.temperature.least) return material.cure.advised.temperature.least->degrees();
  if (material.application.advised.temperature.least)
    return material.application.advised.temperature.least->degrees();
  return std::nullopt;
}

struct Below {
  double hours = 0, share = 0;
  [[nodiscard]] bool much() const { return hours >= kLongHours || share >= kLargeShare; }
};

Below time_below(const CoatFacts& coat, double bound, double hours) {
  const Instant until =
      coat.coat->made.first_pass + std::chrono::round<quantity::Span>(quantity::Hours(hours));
  Below below;
  double recorded = 0;
  for (const auto& step : coat.steps) {
    if (step.silent || step.from >= until) continue;
    recorded += step.hours();
    if (step.surface.expected < bound) below.hours += step.hours();
  }
  if (recorded > 0) below.share = below.hours / recorded;
  return below;
}

void find_cold(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  constexpr double kLook = 72;
  const auto look = first_hours(coat, kLook);
  if (coat.material == nullptr || !look.surface_c.least) return;
  const auto limit = coldest_allowed(*coat.material);
  const auto advised = coldest_advised(*coat.material);
  const double least = *look.surface_c.least;
  const auto tell = [&](double value, double bound, const char* of, double hours) {
    findings.set(Finding::cold, value,
                 fmt::format("the surface was down to {}, {:.1f} h below {} {}", degrees(file, least), hours,
                             of, degrees(file, bound)));
  };
  if (limit) {
    const auto below = time_below(coat, *limit, kLook);
    if (below.much())
      return tell(least < *limit - 3 ? 1.0 : 0.8, *limit, "the least the sheet allows,", below.hours);
  }
  const double fallback = coat.material->reference_temperature.degrees() - 7;
  const double bound = advised.value_or(limit.value_or(fallback));
  const auto below = time_below(coat, bound, kLook);
  if (below.much())
    return tell(0.35, bound,
                advised ? "the advised range from" : "what the sheet's times are stated for, less 7 K,",
                below.hours);
  if (!look.known() || below.share > 0.05) return;
  findings.set(Finding::cold, -1,
               fmt::format("the surface never fell below {} in the first {:.0f} h", degrees(file, least),
                           look.hours()));
}

void find_floor(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto look = first_hours(coat, 72);
  if (!coat.cure_floor_c || !look.surface_c.least) return;
  const std::string floor =
      fmt::format("{} cure floor of {}", coat.floor_assumed ? "the family's assumed" : "the sheet's",
                  degrees(file, *coat.cure_floor_c));
  const bool much = coat.under_floor_h >= kLongHours || coat.under_floor_h >= kLargeShare * look.hours();
  if (much) {
    findings.set(Finding::under_floor, coat.floor_assumed ? 0.5 : 1.0,
                 fmt::format("{:.1f} h below {}, lowest {}", coat.under_floor_h, floor,
                             degrees(file, *look.surface_c.least)));
  } else if (coat.under_floor_h == 0 && look.known()) {
    findings.set(Finding::under_floor, -1, "never below " + floor);
  }
}

void find_changes(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto start =
      std::find_if(coat.steps.begin(), coat.steps.end(), [](const AirStep& step) { return !step.silent; });
  if (start == coat.steps.end()) return;
  const auto three = first_hours(coat, 3);
  if (three.air_c.most && three.known()) {
    const double rise = *three.air_c.most - start->air_c;
    const double value = rise >= 3 ? 1 : rise >= 1.5 ? 0.5 : rise < 0.8 ? -1 : 0;
    findings.set(Finding::warming, value,
                 fmt::format("the air rose by {} within 3 h of coating",
                             show(quantity::CelsiusDelta(std::max(0.0, rise)), file.display)));
  }
  const auto night = first_hours(coat, 14);
  if (night.air_c.least && night.known()) {
    const double fall = start->air_c - *night.air_c.least;
    const double value = fall >= 5 ? 1 : fall >= 3 ? 0.5 : fall < 2 ? -1 : 0;
    findings.set(Finding::night_fall, value,
                 fmt::format("the air fell by {} within 14 h",
                             show(quantity::CelsiusDelta(std::max(0.0, fall)), file.display)));
  }
  const auto four = first_hours(coat, 4);
  if (four.humidity_pct.most && start->humidity_pct && four.known()) {
    const double rise = *four.humidity_pct.most - *start->humidity_pct;
    const double value = rise >= 15 ? 1 : rise >= 8 ? 0.5 : rise < 4 ? -1 : 0;
    findings.set(Finding::humidity_rose, value,
                 fmt::format("humidity rose by {:.0f} points within 4 h of coating", std::max(0.0, rise)));
  }
}

void find_heat(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto look = first_hours(coat, 24);
  if (!look.air_c.most || coat.material == nullptr) return;
  double value = look.known() ? -1 : 0;
  std::string text = fmt::format("the air was {} at most on the first day", degrees(file, *look.air_c.most));
  for (const auto& outside : coat.outside) {
    if (outside.rule.kind != ConditionKind::air_most || outside.hours < 0.25) continue;
    const double over = outside.worst - outside.rule.bound;
    value = std::max(value, outside.rule.is_limit ? 1.0 : over >= 4 ? 0.4 : 0.0);
    text = fmt::format("the air was up to {}, {:.1f} h above {}", degrees(file, outside.worst), outside.hours,
                       degrees(file, outside.rule.bound));
  }
  findings.set(Finding::hot, value, std::move(text));
}

void find_dry(const CoatFacts& coat, Findings& findings) {
  if (coat.material == nullptr) return;
  const auto look = first_hours(coat, 48);
  if (!look.humidity_pct.least) return;
  const auto& material = *coat.material;
  double bound = 30;
  if (material.cure.limit.humidity.least)
    bound = material.cure.limit.humidity.least->in_percent();
  else if (material.application.limit.humidity.least)
    bound = material.application.limit.humidity.least->in_percent();
  double dry = 0, recorded = 0;
  for (const auto& step : coat.steps) {
    if (!step.humidity_pct || step.from >= look.to) continue;
    recorded += step.hours();
    if (*step.humidity_pct < bound) dry += step.hours();
  }
  const double share = recorded > 0 ? dry / recorded : 0;
  findings.set(Finding::dry_air,
               share >= 0.4                    ? 1
               : share <= 0.05 && look.known() ? -1
                                               : 0,
               fmt::format("humidity was {:.0f} % at least, {:.0f} h below {:.0f} %",
                           *look.humidity_pct.least, dry, bound));
}

void find_cold_piece(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto start =
      std::find_if(coat.steps.begin(), coat.steps.end(), [](const AirStep& step) { return !step.silent; });
  if (start == coat.steps.end()) return;
  std::optional<double> surface;
  if (coat.coat->made.piece_from) surface = coat.coat->made.piece_from->degrees();
  for (const auto& reading : coat.piece->surface_readings) {
    const auto away = reading.happened - coat.coat->made.first_pass;
    if (reading.body.surface && std::chrono::abs(away) <= std::chrono::minutes(40))
      surface = reading.body.surface->degrees();
  }
  if (!surface) return;
  const double colder = start->air_c - *surface;
  findings.set(Finding::cold_piece,
               colder >= 3    ? 1
               : colder < 1.5 ? -1
                              : 0,
               fmt::format("the piece was {} in air of {} when it was coated", degrees(file, *surface),
                           degrees(file, start->air_c)));
}

void find_clocks(const CoatFacts& coat, const Facts& facts, Findings& findings) {
  if (!coat.clocks || coat.material == nullptr) return;
  Milestone milestone = Milestone::handling;
  if (facts.has(Sign::never_dried)) milestone = Milestone::tack_free;
  if (facts.has(Sign::soft_when_hot)) milestone = Milestone::full_cure;
  if (table_of(*coat.material, milestone) == nullptr) milestone = Milestone::tack_free;
  const auto stated = stated_time(*coat.material, milestone);
  const auto* clock = coat.clocks->clock(milestone);
  if (!stated || clock == nullptr) return;
  const double hours = quantity::hours_between(coat.coat->made.last_pass, coat.until).count();
  const double value = hours < stated->count() ? 1 : hours > 1.3 * stated->count() ? -1 : 0;
  findings.set(Finding::not_yet, value,
               fmt::format("{:.0f} h after coating; the sheet gives {} {:.0f} h at its reference", hours,
                           word(milestone), stated->count()));
  const double late = value > 0 ? 0 : short_of(clock);
  findings.set(
      Finding::clock_short, late,
      fmt::format("by its clocks {} stood at {:.0f} % ({:.0f} to {:.0f} %)", word(milestone),
                  100 * clock->progress.expected, 100 * clock->progress.slow, 100 * clock->progress.fast));
}

/// The wet phase: the application and until tack-free.
PhaseFacts wet_phase(const CoatFacts& coat) {
  const Instant applied = std::min(coat.coat->made.last_pass + std::chrono::minutes(30), coat.until);
  return phase_facts(coat.steps, "", coat.coat->made.first_pass, std::max(coat.tack_free, applied), false);
}

/// The dew margin that a wet film wants: the sheet's, else the trade's for a film that still flashes off.
double margin_wanted(const Material& material) {
  for (const auto& wanted : {material.application.limit.dew_margin, material.application.advised.dew_margin,
                             material.cure.limit.dew_margin, material.cure.advised.dew_margin}) {
    if (wanted) return wanted->kelvin();
  }
  return least_dew_margin(material.family, material.flash_off ? Film::flashing : Film::set).kelvin();
}

/// Over a stated bound of humidity: a limit tells much, an advised range little.
double over_humidity(const CoatFacts& coat, std::string& why) {
  double value = 0;
  for (const auto& outside : coat.outside) {
    if (outside.rule.kind != ConditionKind::humidity_most || outside.hours < 0.25) continue;
    const double over = outside.worst - outside.rule.bound;
    const double told = outside.rule.is_limit ? std::clamp(over / 8, 0.0, 0.9) : over >= 12 ? 0.35 : 0.0;
    if (told <= value) continue;
    value = told;
    why = fmt::format("humidity was up to {:.0f} %, {:.1f} h above {} {:.0f} %", outside.worst, outside.hours,
                      outside.rule.is_limit ? "the limit of" : "the advised", outside.rule.bound);
  }
  return value;
}

double by_family(const CoatFacts& coat, const PhaseFacts& wet, std::string& why) {
  const double most = *wet.humidity_pct.most;
  switch (coat.material->family) {
    case Family::epoxy: {
      const double dose = coat.clocks ? coat.clocks->blush_dose.value_or(0) : 0;
      if (dose < kBlushSome) return 0;
      why = fmt::format(
          "blush dose {:.2f} until tack-free (from {:.1f} on wash, over {:.1f} high), humidity up to {:.0f} "
          "%",
          dose, kBlushSome, kBlushHigh, most);
      return dose >= kBlushHigh ? 1.0 : 0.7;
    }
    case Family::moisture_cured_urethane:
      if (most < 80) return 0;
      why = fmt::format("humidity up to {:.0f} %: above 80 % it foams and whitens", most);
      return 1.0;
    case Family::water_borne: {
      if (most < 85 && !(most > 60 && wet.air_c.least && *wet.air_c.least < 15)) return 0;
      why = fmt::format("humidity up to {:.0f} %: water hardly leaves the film", most);
      return 0.9;
    }
    default:
      return 0;
  }
}

}  // namespace

Found dampness(const CaseFile& file, const CoatFacts& coat) {
  if (coat.material == nullptr) return {};
  const auto wet = wet_phase(coat);
  if (!wet.humidity_pct.most || !wet.dew_margin_k.least) return {};
  const auto margin = quantity::CelsiusDelta(*wet.dew_margin_k.least);
  std::string why;
  double value = by_family(coat, wet, why);
  std::string over_why;
  const double over = over_humidity(coat, over_why);
  if (over > value) {
    value = over;
    why = over_why;
  }
  const double wanted = margin_wanted(*coat.material);
  const double lack = std::clamp((wanted - margin.kelvin()) / 3.0, 0.0, 1.0);
  if (lack > value && lack >= 0.2) {
    value = lack;
    why = fmt::format("while wet the surface came within {} of the dew point; {} are wanted",
                      show(margin, file.display), show(quantity::CelsiusDelta(wanted), file.display));
  }
  if (margin.kelvin() <= 0) value = 1;
  if (value > 0) return {value, std::move(why)};
  if (!wet.known()) return {};
  return {-1, fmt::format("while wet: humidity {:.0f} % at most, the surface {} above the dew point at least",
                          *wet.humidity_pct.most, show(margin, file.display))};
}

void find_in_air(const CaseFile& file, const Facts& facts, Findings& findings) {
  find_floor(file, facts.coat, findings);
  find_cold(file, facts.coat, findings);
  find_changes(file, facts.coat, findings);
  find_heat(file, facts.coat, findings);
  find_dry(facts.coat, findings);
  find_cold_piece(file, facts.coat, findings);
  find_clocks(facts.coat, facts, findings);
  auto damp = dampness(file, facts.coat);
  // What comes off between coats was kept off by what lay on the lower one.
  const bool between = facts.has(Sign::peeling) && !facts.has(Sign::greasy) && !facts.has(Sign::cloudy);
  if (between && facts.below) {
    const auto below = dampness(file, *facts.below);
    if (below.value != 0) findings.set(Finding::blush_air, below.value, "the coat below: " + below.text);
  } else {
    findings.set(Finding::blush_air, damp.value, damp.text);
  }
  findings.set(Finding::damp, damp.value, std::move(damp.text));
}

}  // namespace setwell::core
