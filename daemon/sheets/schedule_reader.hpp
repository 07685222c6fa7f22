#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/schedule.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::sheets {

struct ScheduleReading {
  std::optional<core::Schedule> schedule;  ///< only when there are no faults
  std::vector<toml_text::Fault> faults;
};

/// Reads a finishing schedule: `id`, `name`, and `[[item]]` in the order of the work, each with `coat =
/// SHEET`
/// (`passes`, `load`, `film`, `note`) or `step = WORD` (`with`, `kind`, `sheet`, `note`). All faults come in
/// one run. Whether the sheets exist is for whoever holds them. Never throws on any text; pure.
[[nodiscard]] ScheduleReading read_schedule(std::string_view toml, std::string_view file_name);

}  // namespace setwell::sheets
