#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include <sys/types.h>

namespace setwell::test {

struct BrokerOptions {
  bool persistence = false;               ///< keeps sessions and queues over `stop` and `start`
  std::vector<std::string> more_lines{};  ///< of its configuration
};

/// A real broker of its own on a free loopback port, with a temporary folder that goes with it. Any client
/// may connect. Throws std::runtime_error when it does not come up.
class Broker {
 public:
  /// Whether there is a broker to start; a test program without one leaves with 77, skipped.
  [[nodiscard]] static bool installed();

  explicit Broker(const BrokerOptions& options = {});
  Broker(const Broker&) = delete;
  Broker& operator=(const Broker&) = delete;
  ~Broker();

  [[nodiscard]] std::uint16_t port() const { return port_; }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  [[nodiscard]] std::string log() const;

  void start();   ///< on the same port; returns once it accepts connections
  void stop();    ///< asks it to end, and waits
  void kill();    ///< SIGKILL, and waits
  void freeze();  ///< SIGSTOP: the port still accepts, nothing answers
  void thaw();

 private:
  void write_configuration(const BrokerOptions& options) const;
  void end_with(int signal);

  std::filesystem::path folder_;
  std::uint16_t port_;
  pid_t pid_ = -1;
};

}  // namespace setwell::test
