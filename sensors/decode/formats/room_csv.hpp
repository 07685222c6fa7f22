#pragma once

#include <string_view>
#include <vector>

#include "sensors/quantity/error.hpp"
#include "sensors/quantity/instant.hpp"

namespace setwell::decode {

/// One row of a recorded room.
struct RoomRow {
  quantity::Instant at;
  double temperature_c = 0.0;
  double humidity_pct = 0.0;
};

/// Reads `time,temperature_c,humidity_pct` with one row per line (RFC 3339; a time without a zone is UTC;
/// `\r\n` is fine, blank lines are skipped). Values are taken as they stand, glitches included. Fails with
/// the line and what is wrong with it.
[[nodiscard]] quantity::Result<std::vector<RoomRow>> parse_room_csv(std::string_view text);

}  // namespace setwell::decode
