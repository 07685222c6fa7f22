#pragma once

#include <vector>

#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/rows.hpp"

/// Inside the ledger only: what both of its faces read.
namespace setwell::ledger {

[[nodiscard]] std::vector<EntryRow> entries_after(Connection& connection, quantity::EntryId id);
[[nodiscard]] std::vector<EditionRow> all_editions(Connection& connection);

}  // namespace setwell::ledger
