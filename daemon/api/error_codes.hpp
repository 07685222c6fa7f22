#pragma once

#include <optional>
#include <string_view>

#include "sensors/quantity/error.hpp"

namespace setwell::api {

/// Numbers of JSON-RPC 2.0, and one of our own for everything a request may be refused for; the word beside
/// it
/// (`data.kind`) says which.
enum class RpcCode : int {
  parse_error = -32700,
  invalid_request = -32600,
  method_not_found = -32601,
  invalid_params = -32602,
  broken = -32603,
  refused = -32000,
};

/// The first call says which protocol the client speaks; there is one.
inline constexpr int kProtocol = 1;
/// The kind of error when that does not match, or when the first call was another.
inline constexpr std::string_view kProtocolKind = "protocol";
/// The kind of error when the daemon itself failed.
inline constexpr std::string_view kBrokenKind = "broken";

/// The word on the wire: refused, usage, unreachable, not-found, invalid.
[[nodiscard]] std::string_view kind_word(quantity::ErrorKind kind);
/// What a client makes of the word: `protocol` is unreachable; a word it does not know is refused.
[[nodiscard]] quantity::ErrorKind kind_of(std::string_view word);
/// The number of a failure on the wire.
[[nodiscard]] RpcCode code_of(quantity::ErrorKind kind);

/// How the command line ends, and what an entry taken by MQTT is answered with: 0 is done.
[[nodiscard]] int exit_code(quantity::ErrorKind kind);

}  // namespace setwell::api
