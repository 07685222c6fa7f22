#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tests/reference/stated_tables.hpp"

/// The products whose recoating published tables describe.
namespace setwell::shops {

struct TableRow {
  double celsius = 0;
  double low = 0, high = 0;  ///< minutes
};
using Rising = std::vector<TableRow>;  ///< by rising temperature, never empty

/// What one simulated sheet is made from: when another coat may go on, and until when.
struct Product {
  std::string sheet;   ///< of the tables
  std::string name;    ///< sheet and what goes on top
  std::string family;  ///< as sheets write it
  Rising opens;        ///< with a gap: when the late window opens
  std::optional<Rising> closes;
  std::optional<Rising> gap_begins;
  std::optional<Rising> tack_free;
  /// Fitted without this sheet and its kin.
  std::shared_ptr<const core::PriorBook> priors;
};

/// Every sheet gives at least one: where a sheet states no recoating, its longest drying time opens it.
[[nodiscard]] std::vector<Product> products_of(const std::vector<reference::StatedTable>& tables);

}  // namespace setwell::shops
