#pragma once

#include <string>

#include "cli/render/chart.hpp"
#include "cli/render/text.hpp"
#include "daemon/api/messages/review.hpp"

/// A review as one page worth keeping: HTML without scripts or anything fetched, with its chart inside.
/// Prints on one sheet.
namespace setwell::cli {

/// The chart of a review; what its numbers mean stands in the page's list of events, in the same order.
[[nodiscard]] Chart review_chart(const api::ReviewAnswer& answer);
[[nodiscard]] std::string review_page(const api::ReviewAnswer& answer, const Look& look);

}  // namespace setwell::cli
