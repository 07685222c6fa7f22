#include "tests/reference/prior_text.hpp"

#include <cstdint>

#include <fmt/format.h>

namespace setwell::reference {
namespace {

constexpr std::string_view kHead =
    R"(// Priors of the temperature dependence: written by setwell_tables (DEVELOPERS.md), not by hand. What was tried,
// what each form gave, and what it cannot tell stands in tried.md. Rows: family (kAnyFamily: all not named before),
// kind of milestone, side of the stated rows, E0 and a in kJ/mol, c in sqrt(kJ/mol), skew, provenance. The first row
// that fits counts.
)";

constexpr std::string_view kHardnessInTheCold =
    "; beforehand set to reach from 15 to 150 kJ/mol, which only one sheet and its kin show: without it the "
    "fit "
    "would not know";

std::string provenance(const FittedKind& kind, const TableScore& score) {
  if (kind.times == 0) return "no published time: the beforehand alone";
  std::string text = fmt::format("{} times of {} sheets", kind.times, kind.sheets);
  const auto group = score.by_group.find(fmt::format("{} {}", word(kind.kind), word(kind.side)));
  if (group != score.by_group.end())
    text += fmt::format("; on sheets left out {:.3f} inside 95 % bounds", group->second.inside());
  if (kind.kind == core::PriorKind::hardness && kind.side == core::PriorSide::colder)
    text += kHardnessInTheCold;
  return text;
}

std::string line(std::string_view family, const FittedKind& kind, double mean, std::string_view source) {
  return fmt::format("    {{{}, Kind::{}, Side::{}, {{{:.1f}, {:.1f}, {:.2f}, {:.2f}}},\n     \"{}\"}},\n",
                     family, word(kind.kind), word(kind.side), mean, kind.prior.spread, kind.prior.wander,
                     kind.prior.skew, source);
}

}  // namespace

std::string fingerprint_of(std::string_view tables_text) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : tables_text) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 1099511628211ULL;
  }
  return fmt::format("{:016x}", hash);
}

std::string priors_text(const FittedPriors& fitted, const TableScore& score, std::string_view fingerprint) {
  std::string text(kHead);
  text += fmt::format(
      "// Fitted to tables with the fingerprint {}. On sheets left out: {:.3f} of {} times inside at\n"
      "// a mean width of {:.2f} in ln time; between 8 and 38 degrees Celsius {:.3f} of {} at {:.2f}.\n",
      fingerprint, score.all.inside(), score.all.points, score.all.mean_ln_width(), score.workshop.inside(),
      score.workshop.points, score.workshop.mean_ln_width());
  text += "constexpr PriorRow kPriorRows[] = {\n";
  for (const FittedKind& kind : fitted.kinds) {
    if (evaporates(kind.kind))
      text += line("Family::solvent_lacquer", kind, kEvaporationEnergy,
                   "mean: heats of evaporation of coating solvents, 35 to 42 kJ/mol; the rest as for all");
  }
  for (const FittedKind& kind : fitted.kinds)
    text += line("kAnyFamily", kind, kind.prior.mean, provenance(kind, score));
  text += fmt::format(
      "}};\n\n// How far rows stray from the chord of their neighbours, sqrt(kJ/mol): the likeliest for\n"
      "// {} interior rows left out; {:.3f} of them inside at a mean width of {:.2f}.\n"
      "constexpr double kBend = {:.2f};\n",
      fitted.interior_rows, score.between.inside(), score.between.mean_ln_width(), fitted.bend);
  return text;
}

}  // namespace setwell::reference
