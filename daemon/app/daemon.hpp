#pragma once

#include "daemon/app/options.hpp"

/// The composition root: what exists, who knows whom, start and stop order.
namespace setwell::app {

/// Exit codes of the daemon, besides 0 for an orderly stop. The unit keeps it down after `kWrongSettings`,
/// starts it again after the others.
inline constexpr int kFailed = 1;
inline constexpr int kBrokerLost = 75;  ///< nothing in this process can mend the connection
inline constexpr int kWrongSettings =
    78;  ///< settings with faults, another daemon on this state, a newer ledger

/// Runs until SIGTERM or SIGINT (SIGHUP reads settings and sheets again). Answers the exit code. The process
/// has to leave by `_exit` with it: the MQTT library's threads do not end by themselves.
[[nodiscard]] int run_daemon(const Options& options);

}  // namespace setwell::app
