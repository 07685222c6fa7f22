#pragma once

#include <filesystem>

#include "sensors/quantity/error.hpp"

namespace setwell::rpc {

/// A listening unix socket, mode 0660. Closing it is the caller's business, and removing its file.
/// A stale socket (nobody answers) is replaced. Error refused: somebody answers, a file that is no socket is
/// in the way, the path is too long, the folder is missing or may not be written; each with what to do.
[[nodiscard]] quantity::Result<int> listen_at(const std::filesystem::path& path);

}  // namespace setwell::rpc
