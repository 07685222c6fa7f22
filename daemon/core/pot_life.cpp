#include "daemon/core/pot_life.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/priors.hpp"

namespace setwell::core {
namespace {

#include "daemon/core/data/pot_life.inc"

constexpr double energy_of(PotEnergy which) {
  for (const PotEnergyRow& row : kPotEnergies)
    if (row.of == which) return row.kj_per_mol;
  return 0;
}

constexpr double kColderFast = energy_of(PotEnergy::colder_fast);
constexpr double kColderExpected = energy_of(PotEnergy::colder_expected);
constexpr double kColderSlow = energy_of(PotEnergy::colder_slow);
constexpr double kWarmerFastQuick = energy_of(PotEnergy::warmer_fast_quick);
constexpr double kWarmerFastSlow = energy_of(PotEnergy::warmer_fast_slow);
constexpr double kWarmerExpected = energy_of(PotEnergy::warmer_expected);
constexpr double kWarmerSlow = energy_of(PotEnergy::warmer_slow);
constexpr double kQuickHours = 0.75;
constexpr double kMostSlowTray = 5.0;
constexpr double kMostSlowSmall = 2.0;

/// Added to ln t for mass and pot.
Bounded<double> ln_mass(double grams, double test_grams, Pot pot) {
  const double ratio = grams / test_grams;
  const double small = std::clamp(std::sqrt(1.0 / ratio), 1.0, kMostSlowSmall);
  if (pot == Pot::tray) return {std::log(kMostSlowTray), 0.0, 0.0};
  const double fast = std::log(std::clamp(std::pow(ratio, -1.0 / 3.0), 0.5, 1.0));
  return {std::log(small), 0.5 * fast, fast};
}

template <typename KnownRow>
double chord(const KnownRow& a, const KnownRow& b) {
  return (a.expected - b.expected) / (a.x - b.x);
}

}  // namespace

std::span<const PotEnergyRow> pot_energies() {
  return kPotEnergies;
}

/// The row at or colder than x's temperature, as the lower end of a pair; only between the end rows.
std::size_t PotLife::below(double x) const {
  std::size_t i = 0;
  while (i + 2 < rows_.size() && rows_[i + 1].x >= x)
    ++i;
  return i;
}

double PotLife::spread(std::size_t cold, double x) const {
  const double width = rows_[cold].x - rows_[cold + 1].x;
  const double f = (rows_[cold].x - x) / width;
  return built_in_priors().bend() * std::sqrt(std::max(0.0, f * (1.0 - f) * width));
}

double PotLife::ln_fast(double x) const {
  const KnownRow& cold = rows_.front();
  const KnownRow& warm = rows_.back();
  const bool several = rows_.size() > 1;
  if (x >= cold.x) {
    const double energy = several ? std::clamp(chord(rows_[0], rows_[1]), 0.0, kColderFast) : kColderFast;
    return cold.low + energy * (x - cold.x);
  }
  if (x <= warm.x) {
    const double by_prior = warm.low <= std::log(kQuickHours) ? kWarmerFastQuick : kWarmerFastSlow;
    const double by_rows = several ? chord(rows_[rows_.size() - 2], warm) : by_prior;
    return warm.low + std::max(by_prior, by_rows) * (x - warm.x);
  }
  const std::size_t i = below(x);
  const double f = (rows_[i].x - x) / (rows_[i].x - rows_[i + 1].x);
  const double line = rows_[i].low + (rows_[i + 1].low - rows_[i].low) * f;
  // A mix lasts no longer when warmer, so the warmer row bounds it from below too.
  return std::max(line - k_ * spread(i, x), std::min(line, rows_[i + 1].low));
}

double PotLife::ln_expected(double x) const {
  const bool several = rows_.size() > 1;
  if (x >= rows_.front().x) {
    const double energy = several ? std::max(0.0, chord(rows_[0], rows_[1])) : kColderExpected;
    return rows_.front().expected + energy * (x - rows_.front().x);
  }
  if (x <= rows_.back().x) {
    const double energy =
        several ? std::max(0.0, chord(rows_[rows_.size() - 2], rows_.back())) : kWarmerExpected;
    return rows_.back().expected + energy * (x - rows_.back().x);
  }
  const std::size_t i = below(x);
  const double f = (rows_[i].x - x) / (rows_[i].x - rows_[i + 1].x);
  return rows_[i].expected + (rows_[i + 1].expected - rows_[i].expected) * f;
}

double PotLife::ln_slow(double x) const {
  const KnownRow& cold = rows_.front();
  const KnownRow& warm = rows_.back();
  if (x >= cold.x) {
    const double by_rows = rows_.size() > 1 ? chord(rows_[0], rows_[1]) : kColderSlow;
    return cold.high + std::max(kColderSlow, by_rows) * (x - cold.x);
  }
  if (x <= warm.x) {
    const double by_rows = rows_.size() > 1 ? chord(rows_[rows_.size() - 2], warm) : kWarmerSlow;
    return warm.high + std::clamp(by_rows, 0.0, kWarmerSlow) * (x - warm.x);
  }
  const std::size_t i = below(x);
  const double f = (rows_[i].x - x) / (rows_[i].x - rows_[i + 1].x);
  const double line = rows_[i].high + (rows_[i + 1].high - rows_[i].high) * f;
  return std::min(line + k_ * spread(i, x), std::max(line, rows_[i].high));
}

Bounded<double> PotLife::rates(const Bounded<double>& celsius) const {
  Bounded<double> rate;
  rate.slow = std::exp(-(ln_slow(inverse_rt(celsius.slow)) + ln_mass_.slow));
  rate.expected = std::exp(-(ln_expected(inverse_rt(celsius.expected)) + ln_mass_.expected));
  rate.fast = std::exp(-(ln_fast(inverse_rt(celsius.fast)) + ln_mass_.fast));
  rate.expected = std::max(rate.expected, rate.slow);
  rate.fast = std::max(rate.fast, rate.expected);
  return rate;
}

std::optional<PotLife> pot_life(const Material& material, quantity::Grams mass, Pot pot, double k) {
  if (!material.pot_life || pot == Pot::insulated || mass.value() > kMostPotMassGrams) return std::nullopt;
  PotLife life;
  for (const Row& row : material.pot_life->rows) {
    if (row.time.wording == Wording::no_limit) continue;
    const double low = std::log(row.time.low.count());
    const double high = std::log(row.time.high.count());
    life.rows_.push_back({inverse_rt(row.at.degrees()), low, 0.5 * (low + high), high});
  }
  if (life.rows_.empty()) return std::nullopt;
  const double test = material.pot_test_mass ? material.pot_test_mass->value() : kUnstatedTestMassGrams;
  life.ln_mass_ = ln_mass(mass.value(), test, pot);
  life.k_ = k;
  return life;
}

std::string_view pot_caution(quantity::Grams mass, Pot pot) {
  if (pot == Pot::insulated) {
    return "exotherm: an insulated or preheated pot keeps its own heat and can smoke or burn; no pot life "
           "can be "
           "given. Follow the product's datasheet, spread the mix out now and keep it in sight.";
  }
  if (mass.value() > kMostPotMassGrams) {
    return "exotherm: above 3 kg in one pot no pot life can be given; the mix can heat up, smoke and burn. "
           "Follow "
           "the product's datasheet, divide it or spread it out now and keep it in sight.";
  }
  if (mass.value() > kExothermMassGrams && pot == Pot::cup) {
    return "exotherm: left standing in a deep pot this much heats itself up; spread it out in a shallow "
           "tray. "
           "Keep to the product's datasheet.";
  }
  return {};
}

Bounded<double> warmer_of(const Bounded<double>& air_c, std::optional<quantity::Celsius> resin) {
  if (!resin) return air_c;
  const double r = resin->degrees();
  return {std::max(air_c.slow, r), std::max(air_c.expected, r), std::max(air_c.fast, r)};
}

}  // namespace setwell::core
