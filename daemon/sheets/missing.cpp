#include "daemon/sheets/missing.hpp"

#include <algorithm>
#include <initializer_list>

#include <fmt/format.h>

namespace setwell::sheets {
namespace {

using core::Family;
using core::Material;
using toml_text::Report;

bool two_part(Family family) {
  return family == Family::epoxy || family == Family::urethane;
}

bool has_caution(const Material& material, std::string_view topic) {
  return std::any_of(material.cautions.begin(), material.cautions.end(),
                     [&](const core::Caution& caution) { return caution.topic == topic; });
}

void expect_cautions(const Material& material, std::initializer_list<std::string_view> topics,
                     Report& report) {
  for (const std::string_view topic : topics) {
    if (has_caution(material, topic)) continue;
    report.warn("caution", fmt::format("nothing said on {}", topic),
                fmt::format("what the datasheet says, as [[caution]] topic = \"{}\"", topic));
  }
}

void cautions_of_family(const Material& material, Report& report) {
  switch (material.family) {
    case Family::epoxy:
      return expect_cautions(material, {"breathing", "skin", "dust", "heat"}, report);
    case Family::urethane:
    case Family::moisture_cured_urethane:
      return expect_cautions(material, {"breathing", "skin", "flame"}, report);
    case Family::alkyd:
    case Family::solvent_lacquer:
      return expect_cautions(material, {"breathing", "flame"}, report);
    case Family::water_borne:
      return;
    case Family::light_cured:
      return expect_cautions(material, {"skin"}, report);
  }
}

void mixing(const Material& material, Report& report) {
  if (!two_part(material.family)) {
    if (material.mix)
      report.warn("mix", fmt::format("{} is not mixed", core::word(material.family)), "another family");
    return;
  }
  if (!material.mix) {
    report.warn("mix", "the mix ratio is missing", "[mix] with by_weight, by_volume or both");
  } else if (!material.mix->by_weight && !(material.mix->density_a && material.mix->density_b)) {
    report.warn("mix.by_weight", "no ratio by weight, and no densities to find it from",
                "by_weight, or density_a and density_b");
  }
  if (!material.pot_life) report.warn("milestones.pot_life", "missing", "the pot life, at its mass");
}

void times(const Material& material, Report& report) {
  if (material.pot_life && !material.pot_test_mass) {
    report.warn("reference.pot_mass", "a pot life without its mass",
                "the mass it was measured with, like \"100 g\"");
  }
  if (!material.tack_free) report.warn("milestones.tack_free", "missing", "the time until it is tack-free");
  if (material.recoat.empty()) {
    report.warn("recoat", "no rule says when a coat may go on top", "[[recoat]] with on_top and kind");
  }
}

/// What a family's clocks rest on besides the times.
void ground(const Material& material, Report& report) {
  const bool by_water =
      material.family == Family::water_borne || material.family == Family::moisture_cured_urethane;
  if (by_water && !material.reference_humidity)
    report.warn("reference.humidity", "missing, and its times hang on it; 50 % is taken",
                "the humidity its times hold at, like \"50 %\"");
  if (material.family == Family::moisture_cured_urethane && !material.application.limit.humidity.least &&
      !material.application.advised.humidity.least)
    report.warn("application.advised.humidity", "no least humidity, though it cures with the air's water",
                "a range like \"50-75 %\"");
  if (material.family == Family::solvent_lacquer && !material.flash_off)
    report.warn("milestones.flash_off", "missing", "the time until its solvent is out");
}

void origin(const Material& material, Report& report) {
  if (material.edition.empty()) report.warn("edition", "missing", "the edition: datasheets get revised");
  if (material.date.empty()) report.warn("date", "missing", "the date on the datasheet");
}

}  // namespace

void warn_of_missing(const Material& material, Report& report) {
  if (!report.clean()) return;
  origin(material, report);
  mixing(material, report);
  times(material, report);
  ground(material, report);
  cautions_of_family(material, report);
  if (material.full_strength) expect_cautions(material, {"food"}, report);
}

}  // namespace setwell::sheets
