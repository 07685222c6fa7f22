#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/runtime/clocks.hpp"

namespace setwell::runtime {

/// Tells the service manager how the daemon is: one datagram per message to the socket it named (the
/// sd_notify wire). Without one (started by hand) every call does nothing. Sending never blocks and never
/// fails the caller. Thread: loop only.
class ServiceManager {
 public:
  /// From NOTIFY_SOCKET, WATCHDOG_USEC and WATCHDOG_PID.
  [[nodiscard]] static ServiceManager from_environment();
  /// `socket`: a path, or `@name` for an abstract one; empty for none.
  ServiceManager(std::string socket, std::optional<std::chrono::microseconds> watchdog);
  ServiceManager(ServiceManager&& other) noexcept;
  ServiceManager& operator=(ServiceManager&&) = delete;
  ~ServiceManager();

  [[nodiscard]] bool listens() const { return socket_ >= 0; }
  /// How often to call `watchdog`: half of what the manager allows, never less than a second. Nothing: not
  /// asked.
  [[nodiscard]] std::optional<std::chrono::microseconds> watchdog_pause() const;

  void ready(std::string_view status);
  void status(std::string_view status);
  void reloading(SteadyInstant now);
  void stopping(std::string_view status);
  /// Still starting (a migration, a check): do not give up for this long.
  void extend_start(std::chrono::seconds more);
  /// Still alive. At most one a second is sent, however often it is called.
  void watchdog(SteadyInstant now);

 private:
  void send(const std::string& text);

  std::string address_;
  std::optional<std::chrono::microseconds> allowed_;
  int socket_ = -1;
  std::optional<SteadyInstant> last_watchdog_;
};

}  // namespace setwell::runtime
