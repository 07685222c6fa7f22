#pragma once

#include <cstdint>
#include <optional>

#include "daemon/ledger/rows.hpp"

/// Inside the ledger only: how words of the vocabulary are written as small numbers. A code is a place in a
/// list of codes.cpp; lists are only ever appended to.
namespace setwell::ledger {

[[nodiscard]] std::int64_t code_of(quantity::Refusal refusal);
/// Throws std::runtime_error for a code of a newer program, here and below.
[[nodiscard]] quantity::Refusal refusal_of(std::int64_t code);

/// time | by_device << 2 | clamped << 3 | redelivered << 4 | unit << 5 | (refusal + 1) << 8
[[nodiscard]] std::int64_t facts_of(const decode::DecodedValue& value);
void apply_facts(std::int64_t facts, decode::DecodedValue& value);

/// quality | judged << 3 | (refusal + 1) << 4
[[nodiscard]] std::int64_t code_of(const ReadingVerdict& verdict);
[[nodiscard]] ReadingVerdict verdict_of(std::int64_t code);

}  // namespace setwell::ledger
