#pragma once

#include <vector>

#include "daemon/api/messages/review.hpp"
#include "daemon/core/review_case.hpp"
#include "daemon/core/review_words.hpp"

namespace setwell::api {

/// The review of a coat as it travels; shared by the daemon and by `review --from`. `subject` must point into
/// the case's workbook; `signs` as core::review takes them. Pure.
[[nodiscard]] ReviewAnswer review_answer(const core::CaseFile& file, const core::Subject& subject,
                                         std::vector<core::Sign> signs);

}  // namespace setwell::api
