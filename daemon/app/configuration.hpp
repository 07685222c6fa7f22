#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "daemon/settings/settings.hpp"
#include "sensors/quantity/instant.hpp"

namespace setwell::app {

/// The settings as they were read: a value, or every fault as a line `file:line: key: what; right: …`.
struct Configuration {
  std::shared_ptr<const settings::Settings> settings;  ///< null when there are faults
  std::vector<std::string> faults;
  std::vector<std::string> warnings;
};

/// Reads the file; `now` tells how far ahead zone rules are written out. Thread: any.
[[nodiscard]] Configuration read_configuration(const std::filesystem::path& file, quantity::Instant now);

/// Says every fault of the settings, sheets and schedules on standard output, one a line. Answers the exit
/// code: 0 when all is well, 5 when something is faulty.
[[nodiscard]] int check_configuration(const std::filesystem::path& file, quantity::Instant now);

}  // namespace setwell::app
