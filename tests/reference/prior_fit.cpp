#include "tests/reference/prior_fit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "daemon/core/arrhenius.hpp"

namespace setwell::reference {
namespace {

using core::EnergyPrior;
using core::PriorKind;
using core::PriorSide;

/// A stated time as seen from another of its table.
struct Drift {
  std::string sheet;
  double x = 0;   ///< 1/(RT) from there, mol/kJ
  double ln = 0;  ///< of the ratio of times
  double weight = 1;
};

struct Guess {
  double mean, mean_range, spread, spread_range;
};

/// Set so that the 95 % bounds of hardness in the cold reach from 15 to 150 kJ/mol.
constexpr Guess kHardnessInTheCold{82.5, 8.0, 27.5, 0.1};

constexpr double kLeastBend = 0.5, kMostBend = 5.0, kBendStep = 0.05;
constexpr double kBendWithoutRows = 2.0;

double ln_time(const core::Row& row) {
  return 0.5 * std::log(row.time.low.count() * row.time.high.count());
}

/// ln of Student's density but for a constant.
double ln_likelihood(double off, double scale, double freedom) {
  const double z = off / scale;
  return -std::log(scale) - 0.5 * (freedom + 1.0) * std::log1p(z * z / freedom);
}

double skew_of(PriorKind kind, const PriorForm& form) {
  if (kind == PriorKind::opens) return form.skew;
  return kind == PriorKind::closes ? 1.0 / form.skew : 1.0;
}

std::vector<Drift> drifts_of(const std::vector<StatedTable>& tables, PriorKind kind, PriorSide side) {
  std::vector<Drift> drifts;
  for (const StatedTable& table : tables) {
    if (core::prior_kind(table.milestone()) != kind) continue;
    const core::Row& shown = table.rows.rows[table.shown()];
    for (const core::Row& row : table.rows.rows) {
      const double x = core::inverse_rt(row.at.degrees()) - core::inverse_rt(shown.at.degrees());
      if (x == 0 || (x > 0) != (side == PriorSide::colder)) continue;
      drifts.push_back({table.sheet, x, ln_time(row) - ln_time(shown), 1.0});
    }
  }
  std::map<std::string, double> of_kin;
  for (const Drift& drift : drifts)
    of_kin[kin_of(drift.sheet)] += 1.0;
  for (Drift& drift : drifts)
    drift.weight = 1.0 / of_kin[kin_of(drift.sheet)];
  return drifts;
}

constexpr int kEnergies = 81, kSpreads = 23;
constexpr double kEnergyStep = 2.0, kLeastSpread = 4.0, kMostSpread = 45.0;

double spread_at(int step) {
  return kLeastSpread * std::pow(kMostSpread / kLeastSpread, static_cast<double>(step) / (kSpreads - 1));
}

double ln_beforehand(double energy, double spread, const Guess& guess) {
  const double e = (energy - guess.mean) / guess.mean_range;
  const double s = std::log(spread / guess.spread) / guess.spread_range;
  return -0.5 * (e * e + s * s);
}

double ln_afterwards(double energy, double spread, const std::vector<Drift>& drifts, double skew,
                     const PriorForm& form) {
  double sum = 0;
  for (const Drift& drift : drifts) {
    const double off = drift.ln - energy * drift.x;
    const double scale =
        std::sqrt(spread * spread * drift.x * drift.x + form.wander * form.wander * std::fabs(drift.x));
    sum += drift.weight * ln_likelihood(off, off > 0 ? scale * skew : scale / skew, form.freedom);
  }
  return sum;
}

double tenth(double value) {
  return std::round(value * 10.0) / 10.0;
}

/// The mean energy, and the spread that also holds what is not known about it.
EnergyPrior fit_kind(const std::vector<Drift>& drifts, const Guess& guess, double skew,
                     const PriorForm& form) {
  std::vector<double> ln(kEnergies * kSpreads);
  for (int e = 0; e < kEnergies; ++e) {
    for (int s = 0; s < kSpreads; ++s) {
      const double energy = e * kEnergyStep;
      ln[e * kSpreads + s] = ln_beforehand(energy, spread_at(s), guess) +
                             ln_afterwards(energy, spread_at(s), drifts, skew, form);
    }
  }
  const double most = *std::max_element(ln.begin(), ln.end());
  double whole = 0, mean = 0, square = 0, spread_square = 0;
  for (int e = 0; e < kEnergies; ++e) {
    for (int s = 0; s < kSpreads; ++s) {
      const double p = std::exp(ln[e * kSpreads + s] - most);
      const double energy = e * kEnergyStep;
      whole += p;
      mean += p * energy;
      square += p * energy * energy;
      spread_square += p * spread_at(s) * spread_at(s);
    }
  }
  mean /= whole;
  const double variance = square / whole - mean * mean;
  return {tenth(mean), tenth(std::sqrt(spread_square / whole + variance)), form.wander, skew};
}

Guess guess_of(PriorKind kind, PriorSide side, const PriorForm& form) {
  if (form.hardness_apart && kind == PriorKind::hardness && side == PriorSide::colder)
    return kHardnessInTheCold;
  return {form.mean, form.mean_range, form.spread, form.spread_range};
}

/// How far interior rows lie from the chord of their neighbours, and the root of f(1−f)Δx.
std::vector<std::pair<double, double>> strays_of(const std::vector<StatedTable>& tables) {
  std::vector<std::pair<double, double>> strays;
  for (const StatedTable& table : tables) {
    const auto& rows = table.rows.rows;
    for (std::size_t i = 1; i + 1 < rows.size(); ++i) {
      const double cold = core::inverse_rt(rows[i - 1].at.degrees());
      const double here = core::inverse_rt(rows[i].at.degrees());
      const double warm = core::inverse_rt(rows[i + 1].at.degrees());
      if (!(cold > here && here > warm)) continue;
      const double f = (cold - here) / (cold - warm);
      const double chord = ln_time(rows[i - 1]) + f * (ln_time(rows[i + 1]) - ln_time(rows[i - 1]));
      strays.emplace_back(ln_time(rows[i]) - chord, std::sqrt(f * (1 - f) * (cold - warm)));
    }
  }
  return strays;
}

double likeliest_bend(const std::vector<std::pair<double, double>>& strays, int freedom) {
  if (strays.empty()) return kBendWithoutRows;
  const int steps = static_cast<int>(std::lround((kMostBend - kLeastBend) / kBendStep));
  double best = 0, best_ln = 0;
  for (int i = 0; i <= steps; ++i) {
    const double bend = kLeastBend + i * kBendStep;
    double ln = 0;
    for (const auto& [off, root] : strays)
      ln += ln_likelihood(off, bend * root, freedom);
    if (best == 0 || ln > best_ln) {
      best = bend;
      best_ln = ln;
    }
  }
  return best;
}

}  // namespace

double two_sided_95(int freedom) {
  switch (freedom) {
    case 4:
      return 2.776445105197793;
    case 10:
      return 2.228138851964939;
    case 30:
      return 2.042272456301238;
    default:
      return 2.446911848791681;
  }
}

FittedPriors fit_priors(const std::vector<StatedTable>& tables, const PriorForm& form) {
  FittedPriors fitted;
  for (const PriorKind kind : kPriorKinds) {
    for (const PriorSide side : kPriorSides) {
      const std::vector<Drift> drifts = drifts_of(tables, kind, side);
      std::set<std::string> sheets;
      for (const Drift& drift : drifts)
        sheets.insert(drift.sheet);
      const EnergyPrior prior = fit_kind(drifts, guess_of(kind, side, form), skew_of(kind, form), form);
      fitted.kinds.push_back(
          {kind, side, prior, static_cast<int>(drifts.size()), static_cast<int>(sheets.size())});
    }
  }
  const auto strays = strays_of(tables);
  fitted.bend = likeliest_bend(strays, form.freedom);
  fitted.interior_rows = static_cast<int>(strays.size());
  return fitted;
}

core::PriorBook book_of(const FittedPriors& fitted) {
  std::vector<core::PriorRow> rows;
  for (const FittedKind& kind : fitted.kinds) {
    if (!evaporates(kind.kind)) continue;
    EnergyPrior prior = kind.prior;
    prior.mean = kEvaporationEnergy;
    rows.push_back({core::Family::solvent_lacquer, kind.kind, kind.side, prior, "evaporation"});
  }
  for (const FittedKind& kind : fitted.kinds)
    rows.push_back({std::nullopt, kind.kind, kind.side, kind.prior, "fitted"});
  return core::PriorBook(std::move(rows), fitted.bend);
}

bool evaporates(PriorKind kind) {
  return kind == PriorKind::opens || kind == PriorKind::closes || kind == PriorKind::drying;
}

std::string_view word(PriorKind kind) {
  switch (kind) {
    case PriorKind::opens:
      return "opens";
    case PriorKind::closes:
      return "closes";
    case PriorKind::drying:
      return "drying";
    case PriorKind::hardness:
      return "hardness";
    case PriorKind::pot_life:
      break;
  }
  return "pot_life";
}

std::string_view word(PriorSide side) {
  return side == PriorSide::colder ? "colder" : "warmer";
}

}  // namespace setwell::reference
