#pragma once

#include <string_view>

#include "cli/render/page.hpp"

namespace setwell::cli {

/// The first line of every answer of a rehearsal.
inline constexpr std::string_view kRehearsal = "REHEARSAL: the time is that of the readings";

inline void write_head(Page& page, bool rehearsal) {
  if (rehearsal) page.line(kRehearsal);
}

/// A blank line and a title, for the next part of a page.
inline void write_title(Page& page, std::string_view title) {
  if (!page.text().empty()) page.line();
  page.line(page.bold(title));
}

}  // namespace setwell::cli
