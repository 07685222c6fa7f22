#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/core/priors.hpp"
#include "sensors/quantity/error.hpp"

/// Tables of published times over temperature, as the priors are fitted to and judged by. A CSV file with the
/// columns sheet, material, quantity, under, temperature_c, minutes_low, minutes_high; a field with commas
/// stands in double quotes.
namespace setwell::reference {

/// All rows of one sheet for one quantity (and for one material on top, where it matters).
struct StatedTable {
  std::string sheet;
  std::string material;  ///< in words; its family is read from them
  std::string quantity;
  std::string under;     ///< what goes on top; may be empty
  core::TimeTable rows;  ///< by rising temperature; never empty

  [[nodiscard]] core::Family family() const;
  [[nodiscard]] core::Milestone milestone() const;
  /// The row nearest 23 °C, the colder of two as near: what a sheet with one temperature would state.
  [[nodiscard]] std::size_t shown() const;
};

/// In the order of the file. `invalid` with the line for a column that is missing or a row that is no time:
/// not a number, not above zero, the higher end below the lower.
[[nodiscard]] quantity::Result<std::vector<StatedTable>> read_tables(std::string_view text);

/// The milestone a quantity's name speaks of: opening, closing, pot life and gelling, hardness; drying is
/// what names none of these.
[[nodiscard]] core::Milestone milestone_of(std::string_view quantity);
[[nodiscard]] core::Family family_of(std::string_view material);

/// One name for a sheet and its kin: other editions and variants of it, which would tell a fit the answer.
/// Small letters at the end are left off ("E1s" is of E1); E3 is another edition of E2.
[[nodiscard]] std::string kin_of(std::string_view sheet);

/// The tables that are no kin of `sheet`.
[[nodiscard]] std::vector<StatedTable> without(const std::vector<StatedTable>& tables,
                                               std::string_view sheet);

}  // namespace setwell::reference
