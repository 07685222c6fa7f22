#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "daemon/core/pot_life.hpp"
#include "daemon/core/review_findings.hpp"

/// What mix, film and lamp say.
namespace setwell::core {
namespace {

void find_ratio(const MixFacts& mix, Findings& findings) {
  if (!mix.ratio) return;
  switch (mix.ratio->finding) {
    case RatioFinding::off:
      return findings.set(Finding::ratio_off, 1, sentence(*mix.ratio));
    case RatioFinding::holds:
      return findings.set(Finding::ratio_off, -1, sentence(*mix.ratio));
    case RatioFinding::cannot_tell:
    case RatioFinding::not_stated:
      return findings.set(Finding::ratio_off, 0, sentence(*mix.ratio));
  }
}

void find_stirring(const CaseFile& file, const MixFacts& mix, Findings& findings) {
  const auto* material = mix.batch == nullptr ? nullptr : file.material(mix.batch->made.edition);
  if (material == nullptr || !material->mix || !material->mix->stir || !mix.batch->made.stirred) return;
  const double asked = material->mix->stir->count(), done = mix.batch->made.stirred->count();
  findings.set(Finding::stirred_short,
               done < 0.8 * asked ? 1
               : done >= asked    ? -1
                                  : 0,
               fmt::format("stirred {:g} min; the sheet asks for {:g} min", done, asked));
}

/// Without a clock (no air, or a pot it gives no time for) the sheet's own time is all there is.
double past_by_sheet(const CaseFile& file, const MixFacts& mix) {
  const auto* material = file.material(mix.batch->made.edition);
  const auto stated = material == nullptr ? std::nullopt : stated_time(*material, Milestone::pot_life_over);
  if (!stated) return 0;
  const double share = mix.minutes_since_mixing / quantity::Minutes(*stated).count();
  return share >= 1.5 ? 1 : share >= 1.0 ? 0.6 : share < 0.5 ? -1 : share < 0.7 ? -0.5 : 0;
}

void find_pot_life(const CaseFile& file, const MixFacts& mix, Findings& findings) {
  if (mix.batch == nullptr) return;
  if (!mix.pot_life_fast || !mix.pot_life_expected) {
    findings.set(Finding::past_pot_life, past_by_sheet(file, mix),
                 fmt::format("{:.0f} min after mixing", mix.minutes_since_mixing));
    return;
  }
  const double value = *mix.pot_life_expected >= 1.0       ? 1
                       : *mix.pot_life_fast < kPotLifeTold ? -1
                       : *mix.pot_life_fast >= 1.0         ? 0.4
                                                           : -0.3;
  findings.set(
      Finding::past_pot_life, value,
      fmt::format(
          "{:.0f} min after mixing, {:.0f} % of its pot life by the expected clock, {:.0f} % by the fast one",
          mix.minutes_since_mixing, 100 * *mix.pot_life_expected, 100 * *mix.pot_life_fast));
}

void find_pot(const Facts& facts, Findings& findings) {
  if (facts.saw(Observed::pot_warmed) != 0) {
    findings.set(Finding::pot_heated, facts.saw(Observed::pot_warmed),
                 "noticed: " + std::string(meaning(Observed::pot_warmed)));
    return;
  }
  if (facts.mix.batch == nullptr) return;
  const auto& made = facts.mix.batch->made;
  const double mass = facts.mix.weighed ? made.part_a.value() + made.part_b.value() : 0;
  if (made.pot == Pot::insulated)
    return findings.set(Finding::pot_heated, 1, "the pot was insulated or warmed");
  if (made.resin_temperature && made.resin_temperature->degrees() >= 33)
    return findings.set(Finding::pot_heated, 1,
                        fmt::format("the resin went in at {:.0f} °C", made.resin_temperature->degrees()));
  if (mass > kExothermMassGrams && made.pot == Pot::cup)
    return findings.set(Finding::pot_heated, 0.8, fmt::format("{:.0f} g stood in one deep cup", mass));
  if (facts.mix.weighed && made.resin_temperature)
    findings.set(Finding::pot_heated, -1,
                 fmt::format("{:.0f} g at {:.0f} °C in a {}", mass, made.resin_temperature->degrees(),
                             word(made.pot)));
}

/// The film that was meant: what coats of the same sheet usually got, else the sheet's own test.
std::optional<double> meant_film(const CaseFile& file, const CoatFacts& coat) {
  std::vector<double> films;
  for (const auto& piece : file.workbook.pieces) {
    for (const auto& other : piece.coats) {
      if (other.id != coat.coat->id && other.made.sheet == coat.coat->made.sheet && other.made.film)
        films.push_back(other.made.film->value());
    }
  }
  if (films.size() >= 2) {
    std::nth_element(films.begin(), films.begin() + static_cast<std::ptrdiff_t>(films.size() / 2),
                     films.end());
    return films[films.size() / 2];
  }
  if (coat.material == nullptr || !coat.material->reference_film) return std::nullopt;
  return coat.material->reference_film->value();
}

void find_film(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto meant = meant_film(file, coat);
  if (!coat.film_um || !meant) return;
  const double ratio = *coat.film_um / *meant;
  // Sheets of flooded epoxies are tested at millimetres; a cup's coat is always thinner and flows all the
  // same.
  const bool flood = *meant > 1000;
  const std::string text =
      fmt::format("film {:.0f} µm {}; {:.0f} µm was meant", *coat.film_um, coat.film_from, *meant);
  findings.set(Finding::thick, ratio >= 2 ? 1 : ratio >= 1.5 ? 0.6 : ratio <= 1.25 ? -1 : 0, text);
  findings.set(Finding::thin,
               flood && ratio < 1 ? 0
               : ratio <= 0.5     ? 1
               : ratio <= 0.7     ? 0.5
               : ratio >= 0.85    ? -1
                                  : 0,
               text);
}

void find_lamp(const CoatFacts& coat, Findings& findings) {
  if (coat.material == nullptr || coat.material->family != Family::light_cured || !coat.coat->made.lamp)
    return;
  const auto stated = stated_time(*coat.material, Milestone::tack_free);
  if (!stated) return;
  const double asked = quantity::Minutes(*stated).count(), done = coat.coat->made.lamp->count();
  findings.set(Finding::lamp_short,
               done < 0.8 * asked ? 1
               : done >= asked    ? -1
                                  : 0,
               fmt::format("{:g} min under the lamp; the sheet asks for {:g} min", done, asked));
}

void find_resin(const CaseFile& file, const Facts& facts, Findings& findings) {
  std::optional<quantity::Celsius> resin = facts.coat.coat->made.resin_temperature;
  if (!resin && facts.mix.batch != nullptr) resin = facts.mix.batch->made.resin_temperature;
  if (!resin) return;
  findings.set(Finding::cold_mix,
               resin->degrees() < 18    ? 1
               : resin->degrees() >= 21 ? -1
                                        : 0,
               "the mix was at " + show(*resin, file.display));
}

}  // namespace

void find_in_mix(const CaseFile& file, const Facts& facts, Findings& findings) {
  find_ratio(facts.mix, findings);
  find_stirring(file, facts.mix, findings);
  find_pot_life(file, facts.mix, findings);
  find_pot(facts, findings);
  find_film(file, facts.coat, findings);
  find_lamp(facts.coat, findings);
  find_resin(file, facts, findings);
  if (facts.coat.material == nullptr) return;
  const auto is = [&](Family family) { return facts.coat.material->family == family; };
  const bool epoxy = is(Family::epoxy) || (facts.below && facts.below->material != nullptr &&
                                           facts.below->material->family == Family::epoxy);
  findings.set(Finding::amine_epoxy, epoxy ? 1 : -1,
               epoxy ? "an amine-cured epoxy is involved" : "no epoxy is involved");
  const bool mixed = facts.coat.material->mix.has_value() || facts.mix.batch != nullptr;
  findings.set(Finding::two_part, mixed ? 1 : -1,
               mixed ? "it is mixed of two parts" : "it comes ready to use");
  findings.set(Finding::moisture_curing, is(Family::moisture_cured_urethane) ? 1 : -1, "by its family");
  findings.set(Finding::light_cured, is(Family::light_cured) ? 1 : -1, "by its family");
}

}  // namespace setwell::core
