#pragma once

#include <filesystem>
#include <optional>

namespace setwell::app {

/// What the daemon was started with.
struct Options {
  std::filesystem::path config = "/etc/setwell/setwelld.toml";
  std::filesystem::path state;   ///< where inbox and ledger lie
  std::filesystem::path socket;  ///< where the command line finds us
  bool check = false;            ///< read settings and sheets, say every fault, leave
  bool time_from_readings = false;
};

/// Reads the command line and, for the places, the environment (STATE_DIRECTORY, RUNTIME_DIRECTORY,
/// XDG_RUNTIME_DIR). Nothing to run: the exit code to leave with (help, version, a wrong option).
struct Parsed {
  std::optional<Options> options;
  int exit_code = 0;
};
[[nodiscard]] Parsed parse_options(int argc, char** argv);

}  // namespace setwell::app
