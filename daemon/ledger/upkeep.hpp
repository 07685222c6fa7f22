#pragma once

#include <filesystem>

#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/rows.hpp"
#include "sensors/quantity/error.hpp"

/// Inside the ledger only: examining and copying, as both of its faces do it.
namespace setwell::ledger {

[[nodiscard]] quantity::Result<void> quick_check(Connection& connection);
/// `give_up` may be null.
[[nodiscard]] quantity::Result<void> back_up(Connection& connection, const std::filesystem::path& file,
                                             const std::atomic<bool>* give_up);

}  // namespace setwell::ledger
