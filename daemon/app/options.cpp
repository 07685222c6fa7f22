#include "daemon/app/options.hpp"

#include <cstdlib>
#include <string>

#include <CLI/CLI.hpp>

namespace setwell::app {
namespace {

constexpr int kUsage = 2;

std::filesystem::path folder_from(const char* variable, const std::filesystem::path& otherwise) {
  const char* value = std::getenv(variable);
  if (value == nullptr || *value == '\0') return otherwise;
  // The service manager separates several folders by colons; ours is the first.
  const std::string text(value);
  return text.substr(0, text.find(':'));
}

std::filesystem::path default_socket() {
  const std::filesystem::path by_hand = folder_from("XDG_RUNTIME_DIR", "/run/setwell");
  return folder_from("RUNTIME_DIRECTORY", by_hand) / "setwell.sock";
}

}  // namespace

Parsed parse_options(int argc, char** argv) {
  Options options;
  options.state = folder_from("STATE_DIRECTORY", "/var/lib/setwell");
  options.socket = default_socket();
  CLI::App app(
      "The daemon of the coating workshop: takes readings, carries every coat's clocks, sends notices.",
      "setwelld");
  app.set_version_flag("--version", std::string("setwelld ") + SETWELL_VERSION);
  app.add_option("--config", options.config, "settings; sheets/ and schedules/ lie beside them")
      ->capture_default_str();
  app.add_option("--state", options.state, "folder of inbox and ledger")->capture_default_str();
  app.add_option("--socket", options.socket, "socket of the command line")->capture_default_str();
  app.add_flag("--check", options.check, "read settings and sheets, say every fault, leave");
  app.add_flag("--time-from-readings", options.time_from_readings,
               "rehearse: now is the newest device time taken; every output says so");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int code = app.exit(error);
    return {std::nullopt, code == 0 ? 0 : kUsage};
  }
  return {options, 0};
}

}  // namespace setwell::app
