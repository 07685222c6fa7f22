#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "daemon/core/entry.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"

/// How long a mix stays usable in its pot: apart from films, because its own heat hurries it.
///
/// Stated rows are reproduced exactly at the sheet's test mass. Between rows ln t follows the chord in 1/T,
/// with the bend of the priors taken k times. Beyond them, and with one row, the energies are those of
/// data/pot_life.inc (the fast one above the warmest row by whether that row is 45 min or less); with two
/// rows or more the end chord takes part where it is the stricter, and is the expected one. More mass than
/// the test's shortens: the fast time by max(0.5, (m/m_test)^(-1/3)), which lies on the safe side of a heat
/// balance from 100 g to 3 kg, the expected by the root of that, the slow not at all. Less mass gives the
/// fast and expected times no credit and the slow one up to twice. A tray (5 mm or less) drops the mass from
/// the fast time and never lengthens it; its slow time is up to five times, the limit without any
/// self-heating.
namespace setwell::core {

/// The test mass where the sheet states none.
inline constexpr double kUnstatedTestMassGrams = 100.0;
/// Above this no time is given.
inline constexpr double kMostPotMassGrams = 3000.0;
/// Above this in a deep pot the exotherm is spoken of.
inline constexpr double kExothermMassGrams = 500.0;
/// The notice goes out at this progress of the fast clock.
inline constexpr double kPotLifeTold = 0.7;

/// The energies beyond the stated rows, by the end of the rows and the clock they hold for.
enum class PotEnergy {
  colder_fast,
  colder_expected,
  colder_slow,
  warmer_fast_quick,  ///< where the warmest row is 45 min or less
  warmer_fast_slow,
  warmer_expected,
  warmer_slow,
};
struct PotEnergyRow {
  PotEnergy of = PotEnergy::colder_fast;
  double kj_per_mol = 0;
  std::string_view provenance;
};
/// Those of data/pot_life.inc, one for each.
[[nodiscard]] std::span<const PotEnergyRow> pot_energies();

/// The pot-life clock of one batch. A value.
class PotLife {
 public:
  /// Rates in 1/h of the mix at a temperature. `celsius` is the warmer of resin (where logged) and air, each
  /// bound with its own air: `warmer_of`. Ordered slow <= expected <= fast and rising with temperature.
  [[nodiscard]] Bounded<double> rates(const Bounded<double>& celsius) const;

 private:
  friend std::optional<PotLife> pot_life(const Material&, quantity::Grams, Pot, double);
  struct KnownRow {
    double x;  ///< 1/(RT), mol/kJ
    double low, expected, high;
  };
  PotLife() = default;
  [[nodiscard]] double ln_fast(double x) const;
  [[nodiscard]] double ln_expected(double x) const;
  [[nodiscard]] double ln_slow(double x) const;
  [[nodiscard]] std::size_t below(double x) const;
  [[nodiscard]] double spread(std::size_t cold, double x) const;

  std::vector<KnownRow> rows_;  ///< rising temperature, falling x
  double k_ = 0;
  Bounded<double> ln_mass_{};  ///< added to ln t
};

/// Nothing where no time may be given: the sheet states no pot life, the mix is above 3 kg, or the pot is
/// insulated or preheated; then only the caution holds. `k` is Strictness::k.
[[nodiscard]] std::optional<PotLife> pot_life(const Material& material, quantity::Grams mass, Pot pot,
                                              double k);

/// What to say about a mix besides its time; empty when there is nothing.
[[nodiscard]] std::string_view pot_caution(quantity::Grams mass, Pot pot);

/// The temperature the clock takes throughout.
[[nodiscard]] Bounded<double> warmer_of(const Bounded<double>& air_c, std::optional<quantity::Celsius> resin);

}  // namespace setwell::core
