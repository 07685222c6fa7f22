#pragma once

#include "daemon/core/notice_lines.hpp"

namespace setwell::core {

/// The words of what is about no piece: sensors, broker, disk. Empty for other kinds.
[[nodiscard]] NoticeText house_text(NoticeKind kind, NoticeLines& words);

}  // namespace setwell::core
