#pragma once

#include <string>
#include <string_view>

namespace setwell::cli {

/// The beginning of a page that needs nothing from elsewhere, up to and with `<body>`: its styles are for a
/// light and a dark screen and for paper.
[[nodiscard]] std::string page_head(std::string_view title);
/// A paragraph of text; `kind` is a class of the style sheet or empty.
[[nodiscard]] std::string paragraph(std::string_view text, std::string_view kind = {});

}  // namespace setwell::cli
