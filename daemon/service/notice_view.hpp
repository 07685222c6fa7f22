#pragma once

#include "daemon/service/workshop.hpp"

namespace setwell::service {

/// Notices not seen yet, newest first, at most 50, with their deliveries.
[[nodiscard]] std::vector<api::NoticeNow> open_notices(const Workshop& workshop);
/// Every notice, newest first, at most 500.
[[nodiscard]] std::vector<api::NoticeNow> all_notices(const Workshop& workshop);

}  // namespace setwell::service
