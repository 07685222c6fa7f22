#include "cli/commands/daemon_call.hpp"

#include <memory>

#include "cli/transport/client.hpp"

namespace setwell::cli {

quantity::Result<Call> call_daemon(const std::optional<std::filesystem::path>& socket) {
  auto reached = transport::Client::connect(transport::socket_path(socket), "setwell " SETWELL_VERSION);
  if (!reached) return reached.error();
  const auto client = std::make_shared<transport::Client>(std::move(*reached));
  return Call([client](std::string_view method, const Object& params, std::chrono::milliseconds patience) {
    return client->call(method, params, patience);
  });
}

}  // namespace setwell::cli
