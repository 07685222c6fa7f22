#include "tests/shops/tables.hpp"

#include <algorithm>
#include <initializer_list>
#include <map>
#include <string_view>

#include "tests/reference/prior_fit.hpp"

namespace setwell::shops {
namespace {

using reference::StatedTable;
using Tables = std::vector<StatedTable>;

Rising rising(const StatedTable& table) {
  Rising rows;
  for (const core::Row& row : table.rows.rows) {
    rows.push_back({row.at.degrees(), quantity::Minutes(row.time.low).count(),
                    quantity::Minutes(row.time.high).count()});
  }
  return rows;
}

std::optional<Rising> find(const Tables& tables, std::string_view sheet, std::string_view quantity,
                           std::string_view under) {
  for (const StatedTable& table : tables) {
    if (table.sheet == sheet && table.quantity == quantity && table.under == under) return rising(table);
  }
  return std::nullopt;
}

const StatedTable* first_of(const Tables& tables, std::string_view sheet,
                            std::initializer_list<std::string_view> quantities, std::string_view but) {
  for (const auto quantity : quantities) {
    for (const StatedTable& table : tables) {
      if (table.sheet == sheet && table.quantity == quantity && quantity != but) return &table;
    }
  }
  return nullptr;
}

Product product_from(const Tables& tables, const StatedTable& opens) {
  Product made;
  made.sheet = opens.sheet;
  made.name = opens.sheet + (opens.under.empty() ? "" : "/" + opens.under);
  made.family = core::word(opens.family());
  made.opens = rising(opens);
  made.closes = find(tables, opens.sheet, "recoat-closes", opens.under);
  if (opens.quantity == "late-window-opens")
    made.gap_begins = find(tables, opens.sheet, "early-window-closes", opens.under);
  const StatedTable* soft =
      first_of(tables, opens.sheet, {"dust-dry", "touch-dry", "dry", "gel"}, opens.quantity);
  if (soft != nullptr) made.tack_free = rising(*soft);
  return made;
}

std::vector<Product> products_of_sheet(const Tables& tables, const std::string& sheet) {
  std::vector<Product> products;
  for (const StatedTable& table : tables) {
    const bool opens = table.quantity == "recoat-opens" || table.quantity == "late-window-opens";
    if (table.sheet == sheet && opens) products.push_back(product_from(tables, table));
  }
  if (!products.empty()) return products;
  const StatedTable* longest =
      first_of(tables, sheet, {"sandable", "hard", "dry", "film-cured", "touch-dry"}, "");
  if (longest != nullptr) products.push_back(product_from(tables, *longest));
  return products;
}

}  // namespace

std::vector<Product> products_of(const Tables& tables) {
  std::map<std::string, std::vector<Product>> by_sheet;
  for (const StatedTable& table : tables)
    by_sheet[table.sheet];
  std::vector<Product> all;
  for (auto& [sheet, products] : by_sheet) {
    products = products_of_sheet(tables, sheet);
    const auto book = std::make_shared<const core::PriorBook>(
        reference::book_of(reference::fit_priors(reference::without(tables, sheet))));
    for (Product& product : products) {
      product.priors = book;
      all.push_back(std::move(product));
    }
  }
  return all;
}

}  // namespace setwell::shops
