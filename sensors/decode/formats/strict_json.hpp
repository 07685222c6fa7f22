#pragma once

#include <optional>
#include <string_view>

#include <boost/json/value.hpp>

namespace setwell::decode {

/// Nesting deeper than this is refused; sensors nest three or four levels.
inline constexpr std::size_t kDeepestNesting = 16;

/// Reads exactly one JSON document (RFC 8259): nothing before or after it but blanks, no comments, no
/// trailing commas, no `NaN`, no key twice in one object. Nothing for anything else.
[[nodiscard]] std::optional<boost::json::value> parse_strictly(std::string_view text);

}  // namespace setwell::decode
