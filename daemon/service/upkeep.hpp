#pragma once

#include <functional>

#include "daemon/service/workshop.hpp"

/// Keeping the caches true to the ledger.
namespace setwell::service {

/// Runs `change` inside one transaction and commits. When anything throws, the transaction is rolled back,
/// the caches are built anew from the ledger, and the exception goes on.
void write(Workshop& workshop, const std::function<void()>& change);

/// Entries were added: coats, stays and hand readings follow. Inside a transaction.
void entries_changed(Workshop& workshop);

/// Ages of touched coats that are not known (any more) are worked out, and clocks follow what that teaches.
/// Inside a transaction.
void learn_again(Workshop& workshop);

/// Builds every cache from the ledger. Fails on entries this program cannot read.
[[nodiscard]] quantity::Result<void> rebuild(Workshop& workshop);

/// Forecasts take in the hours and quarters that have closed. Inside a transaction.
void refit(Workshop& workshop, quantity::Instant now);

/// Runs every notice rule at `now` and stores what is decided. Inside a transaction. Answers when to ask
/// again.
[[nodiscard]] quantity::Instant run_rules(Workshop& workshop, quantity::Instant now);

/// How many pieces of air one turn of the loop carries clocks through: about 20 ms of work.
inline constexpr int kPiecesPerTurn = 20000;

}  // namespace setwell::service
