#pragma once

#include "daemon/core/review_case.hpp"
#include "daemon/service/workshop.hpp"

namespace setwell::service {

/// The workshop's records as a review looks at them, with the air as far back as `since`. A copy of the
/// workbook; the air is the workshop's own, so it must not outlive it.
[[nodiscard]] core::CaseFile case_of(Workshop& workshop, quantity::Instant since, quantity::Instant now);

}  // namespace setwell::service
