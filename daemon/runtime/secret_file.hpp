#pragma once

#include <filesystem>
#include <string>

#include "sensors/quantity/error.hpp"

namespace setwell::runtime {

/// The first line of a file that holds a secret: a password, or what signs. Refused, with what would be right
/// and never with anything of the content: a file that cannot be read, is no plain file, may be read or
/// written by its group or others, belongs to neither this user nor root, is empty, or is longer than 4 KiB.
/// Thread: any.
[[nodiscard]] quantity::Result<std::string> read_secret(const std::filesystem::path& file);

}  // namespace setwell::runtime
