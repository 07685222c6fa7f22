#pragma once

#include <functional>
#include <optional>
#include <string_view>
#include <vector>

#include "daemon/settings/settings.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::settings {

using toml_text::describe;
using toml_text::Fault;

/// Finds a time zone's rules by its name; nothing when there is no such zone.
using ZoneLookup = std::function<std::optional<quantity::TimeZone>(std::string_view)>;

/// What became of the settings' text.
struct SettingsReading {
  std::optional<Settings> settings;  ///< only when there are no faults
  std::vector<Fault> faults;
  std::vector<Fault> warnings;  ///< odd, and taken as it stands
};

/// Reads the settings. Every key is optional but the ids; the defaults are those of settings.hpp. All faults
/// come in one run, in the order of the file, those between tables included (a channel of a zone that is not
/// there, two channels reading the same value). Never throws on any text unless `zones` does; pure but for
/// it.
[[nodiscard]] SettingsReading read_settings(std::string_view toml, std::string_view file_name,
                                            const ZoneLookup& zones);

}  // namespace setwell::settings
