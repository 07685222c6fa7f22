#pragma once

#include <string>
#include <string_view>

#include "daemon/core/entry.hpp"
#include "sensors/quantity/error.hpp"

/// How entries are written into the log: one JSON object per body, `"v"` first. Versions are added, never
/// changed: an entry written by the first release must read the same for ever.
namespace setwell::api {

/// The body as stored, version 1.
[[nodiscard]] std::string body_to_text(const core::EntryBody& body);

/// Reads a stored body of the kind that `core::kind_word` gave it. Fails with `invalid` on an unknown kind or
/// version, and on anything a body of that kind cannot hold.
[[nodiscard]] quantity::Result<core::EntryBody> body_from_text(std::string_view kind, std::string_view text);

}  // namespace setwell::api
