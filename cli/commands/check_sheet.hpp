#pragma once

#include <filesystem>

#include "cli/render/sheet_check.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::cli {

/// Reads a sheet's file as the daemon would, without asking one. Error: not_found, refused when it cannot be
/// read.
[[nodiscard]] quantity::Result<SheetCheck> check_sheet(const std::filesystem::path& file);

}  // namespace setwell::cli
