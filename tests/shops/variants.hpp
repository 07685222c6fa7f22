#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sensors/room/random.hpp"
#include "tests/shops/tables.hpp"
#include "tests/shops/truth.hpp"

/// A simulated sheet: some rows of a published table, and what is really so.
namespace setwell::shops {

/// How much of its table a sheet shows.
enum class Rows { one, two, three, all };
inline constexpr Rows kRows[]{Rows::one, Rows::two, Rows::three, Rows::all};
/// `1`, `2`, `3`, `all`.
[[nodiscard]] const char* word(Rows rows);

struct Variant {
  const Product* product = nullptr;
  Rows rows = Rows::one;
  std::string id;    ///< the sheet's
  std::string text;  ///< its TOML
  /// What is really so, in ln minutes. `tack_free` is the opening's own curve where the table states none.
  TrueCurve opens, closes, gap_begins, tack_free;
  bool has_tack_free = false;
  std::optional<double> floor;  ///< real, °C
  bool floor_stated = false;
  /// What a person without a clock goes by: the time printed nearest 23 °C, upper end.
  double printed_minutes = 0;
  double printed_celsius = 0;
};

/// The sheets of a product, one for each number of rows its table allows. Where all rows are shown, the truth
/// strays between them as a Brownian bridge of `wander` √(kJ/mol); where not, the hidden rows are the truth.
/// Where a range is stated, the truth lies anywhere in it.
[[nodiscard]] std::vector<Variant> variants_of(const Product& product, room::Random& random);

}  // namespace setwell::shops
