#pragma once

#include <string_view>

namespace setwell::decode {

/// A lone Latin-1 degree sign is common in the text of small devices, though it is not UTF-8.
enum class DegreeSign { utf8_only, latin1_too };

/// Whether these bytes are text: UTF-8 without control characters other than tab, carriage return and
/// newline.
[[nodiscard]] bool is_text(std::string_view bytes, DegreeSign degree);

/// Without one leading byte order mark.
[[nodiscard]] std::string_view without_mark(std::string_view text);
/// Without leading and trailing spaces, tabs, carriage returns and newlines.
[[nodiscard]] std::string_view trimmed(std::string_view text);
/// Equal but for the case of ASCII letters.
[[nodiscard]] bool same_word(std::string_view a, std::string_view b);

}  // namespace setwell::decode
