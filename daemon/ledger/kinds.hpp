#pragma once

#include "daemon/ledger/open.hpp"
#include "daemon/ledger/rows.hpp"

/// Inside the ledger only: our two kinds of file.
namespace setwell::ledger {

[[nodiscard]] const FileKind& ledger_kind();
[[nodiscard]] const FileKind& inbox_kind();

/// The mode a ledger was made for.
[[nodiscard]] Mode mode_of(Connection& connection);

}  // namespace setwell::ledger
