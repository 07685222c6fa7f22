#pragma once

#include "daemon/core/notice.hpp"

namespace setwell::core {

/// The words of the morning list: the pieces that need hands today first, what became true in the night, then
/// the rest, and tonight's coldest hour; the cautions of all that it speaks of, each once.
[[nodiscard]] NoticeText morning_text(const Telling& telling, quantity::Instant now, const Display& display);

}  // namespace setwell::core
