#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/core/hour_series.hpp"

/// Recorded rooms by the hour.
namespace setwell::reference {

struct RecordedRoom {
  std::string name;
  core::HourIndex first = 0;
  std::vector<core::HourValue> hours;  ///< silences left in

  /// NaN outside.
  [[nodiscard]] double value(core::AirQuantity quantity, core::HourIndex hour) const;
  [[nodiscard]] double days() const { return static_cast<double>(hours.size()) / 24.0; }
};

/// Every `room-….csv` of a folder, by name; outdoor files are no rooms. Throws std::runtime_error with the
/// file and line that cannot be read.
[[nodiscard]] std::vector<RecordedRoom> recorded_rooms(const std::filesystem::path& folder);

}  // namespace setwell::reference
