#pragma once

#include "daemon/api/messages/review.hpp"
#include "daemon/core/review.hpp"

namespace setwell::api {

/// A review as it travels; shared by the daemon and by `review --from`. Pure.
[[nodiscard]] ReviewAnswer review_answer(const core::CaseFile& file, const core::Review& review);

}  // namespace setwell::api
