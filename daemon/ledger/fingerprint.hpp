#pragma once

#include <string>
#include <string_view>

namespace setwell::ledger {

/// SHA-256 of the bytes, as 64 lower-case hexadecimal digits. Any thread. Throws std::runtime_error where the
/// cryptographic library refuses to work at all.
[[nodiscard]] std::string fingerprint(std::string_view bytes);

}  // namespace setwell::ledger
