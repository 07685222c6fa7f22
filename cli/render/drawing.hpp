#pragma once

#include <string>
#include <vector>

#include "cli/render/when.hpp"
#include "daemon/api/messages/asking.hpp"

namespace setwell::cli {

/// The air of a day as a drawing: one column an hour, from its least to its most temperature, the scale at
/// the left, a row for humidity, and the hours below. An hour without readings is a gap; one that was partly
/// silent has a dot in the base line. No lines when there is nothing to draw.
[[nodiscard]] std::vector<std::string> draw_day(const std::vector<api::AirHour>& hours,
                                                const Reading& reading);

}  // namespace setwell::cli
