#pragma once

#include <filesystem>

#include "daemon/api/messages/review.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::cli {

/// Reviews an account that stands in a file; no daemon is needed. What the account names is looked for beside
/// it. Fails with `not_found`, `refused`, or `invalid` with every fault of the file, one per line.
[[nodiscard]] quantity::Result<api::ReviewAnswer> review_file(const std::filesystem::path& file,
                                                              const std::optional<std::string>& piece,
                                                              std::optional<int> coat);

}  // namespace setwell::cli
