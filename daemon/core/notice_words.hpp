#pragma once

#include <span>
#include <string>

#include "sensors/quantity/ids.hpp"

namespace setwell::core {

/// No title is longer than this, so that a phone shows it whole.
inline constexpr int kTitleLongest = 160;

/// Several pieces in few words: runs as `fern-01..06`, the rest named, and what does not fit into `columns`
/// counted: `fern-01..06, cup-2 and 4 more`. At least one name is always given.
[[nodiscard]] std::string piece_list(std::span<const quantity::PieceId> pieces, int columns);

}  // namespace setwell::core
