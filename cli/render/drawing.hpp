#pragma once

#include <string>
#include <vector>

#include "cli/render/when.hpp"
#include "daemon/api/messages/asking.hpp"

namespace setwell::cli {

/// A zone's air as a drawing of at most 80 columns: one column an hour, the last day from its least to its
/// most temperature, then the forecast's bands; limits of coats as lettered lines; rows for humidity and the
/// dew margin; the hours below, and what the signs mean. Hours outside waking time are dotted. An hour
/// without readings is a gap, and its base line is marked. No lines when there is nothing to draw.
[[nodiscard]] std::vector<std::string> draw_air(const api::AirZone& zone, const Reading& reading);

}  // namespace setwell::cli
