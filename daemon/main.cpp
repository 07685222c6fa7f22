#include <unistd.h>

#include "daemon/app/configuration.hpp"
#include "daemon/app/daemon.hpp"
#include "daemon/app/options.hpp"
#include "daemon/runtime/clocks.hpp"

int main(int argc, char** argv) {
  const auto parsed = setwell::app::parse_options(argc, argv);
  if (!parsed.options) return parsed.exit_code;
  if (parsed.options->check) {
    return setwell::app::check_configuration(parsed.options->config,
                                             setwell::runtime::RealClock().wall_now());
  }
  // The MQTT library's threads do not end by themselves, and may hold a message that must stay
  // unacknowledged.
  _exit(setwell::app::run_daemon(*parsed.options));
}
