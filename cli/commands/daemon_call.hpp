#pragma once

#include "cli/commands/session.hpp"

namespace setwell::cli {

/// Reaches the real daemon. Error: what keeps us from it, and what to do.
[[nodiscard]] quantity::Result<Call> call_daemon(const std::optional<std::filesystem::path>& socket);

}  // namespace setwell::cli
