#pragma once

#include <string>

#include "cli/render/chart.hpp"
#include "cli/render/text.hpp"

/// The air of the workshop as a page: the last day, the forecast with its bands, what the coats ask. HTML
/// without scripts or anything fetched.
namespace setwell::cli {

/// One zone's chart; nothing when it told nothing and has no forecast.
[[nodiscard]] std::optional<Chart> air_chart(const api::AirZone& zone, const api::DisplayWish& display);
[[nodiscard]] std::string air_page(const api::AirAnswer& answer, const Look& look);

}  // namespace setwell::cli
