#pragma once

#include <span>
#include <string>

#include "tests/shops/count.hpp"

/// How the outcome is told: one JSON object, a table for people, and every false telling with what lay behind
/// it.
namespace setwell::shops {

struct RunFacts {
  std::uint64_t seed = 1;
  double k = 3.1;
  double seconds = 0;
  int shops = 0;
};

[[nodiscard]] std::string json_of(std::span<const CoatRecord> records, const RunFacts& facts);
[[nodiscard]] std::string table_of(std::span<const CoatRecord> records, const RunFacts& facts);
/// One line per false opening or comfort.
[[nodiscard]] std::string explained(std::span<const CoatRecord> records);

}  // namespace setwell::shops
