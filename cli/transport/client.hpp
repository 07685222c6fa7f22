#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string_view>

#include "daemon/api/codec.hpp"
#include "daemon/api/frame.hpp"
#include "daemon/api/rpc_envelope.hpp"

namespace setwell::transport {

/// How long a person waits at most for one answer.
inline constexpr std::chrono::milliseconds kPatience{10'000};

/// Where the daemon's socket is: `stated` (from --socket) if given; else $XDG_RUNTIME_DIR/setwell.sock if
/// that is there (a daemon run by hand); else /run/setwell/setwell.sock (the service).
[[nodiscard]] std::filesystem::path socket_path(const std::optional<std::filesystem::path>& stated);

/// A conversation with the daemon: one call at a time, each with a deadline. Not for several threads at once.
/// After an error of kind unreachable the conversation is over and every further call ends the same way.
class Client {
 public:
  /// Connects and says hello. Error unreachable: nobody listens there, no permission, no answer in time, or
  /// another protocol; each says what to do. `program` is for the daemon's log.
  [[nodiscard]] static quantity::Result<Client> connect(const std::filesystem::path& socket,
                                                        std::string_view program,
                                                        std::chrono::milliseconds patience = kPatience);

  Client(Client&& other) noexcept;
  Client& operator=(Client&&) = delete;
  ~Client();

  /// Error: what the daemon refused with, or unreachable.
  [[nodiscard]] quantity::Result<boost::json::object> call(std::string_view method,
                                                           const boost::json::object& params,
                                                           std::chrono::milliseconds patience = kPatience);

  /// The same with described structs. Keys that this program does not know are passed over; an answer that
  /// lacks one it needs is unreachable (another version answers).
  template <typename Answer, typename Params>
  [[nodiscard]] quantity::Result<Answer> ask(std::string_view method, const Params& params,
                                             std::chrono::milliseconds patience = kPatience) {
    const auto result = call(method, api::to_object(params), patience);
    if (!result) return result.error();
    auto answer = api::from_json<Answer>(*result, api::UnknownKeys::ignored);
    if (!answer) return not_understood(method, answer.error());
    return answer;
  }

 private:
  using Deadline = std::chrono::steady_clock::time_point;

  Client(int socket, std::filesystem::path path) : socket_(socket), path_(std::move(path)) {}

  [[nodiscard]] static quantity::Error not_understood(std::string_view method, const quantity::Error& why);
  [[nodiscard]] std::optional<quantity::Error> connect_by(Deadline deadline);
  [[nodiscard]] std::optional<quantity::Error> send_by(Deadline deadline, std::string_view line);
  [[nodiscard]] quantity::Result<std::string> line_by(Deadline deadline);
  [[nodiscard]] std::optional<quantity::Error> wait_by(Deadline deadline, short events);
  [[nodiscard]] quantity::Error over(quantity::Error why);

  int socket_;
  std::filesystem::path path_;
  api::LineCutter lines_{api::kLongestAnswer};
  std::int64_t last_id_ = 0;
};

}  // namespace setwell::transport
