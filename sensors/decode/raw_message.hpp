#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "sensors/quantity/instant.hpp"

namespace setwell::decode {

/// Only this much of a payload is read; longer ones are refused as `too-large` and kept cut to this length.
inline constexpr std::size_t kLargestPayload = std::size_t{16} * 1024;

/// One message exactly as the broker handed it over, before anything is made of it.
struct RawMessage {
  std::int64_t row = 0;  ///< the inbox's row; 0 before it is kept
  std::string topic;
  std::string payload;           ///< any bytes, at most kLargestPayload of them
  std::size_t payload_size = 0;  ///< its real length
  quantity::Instant received;    ///< when it came in, by the workshop's clock
  std::int64_t connection = 0;   ///< counts the connections to the broker, over restarts too
  /// Since that connection was made; messages right after a resumed one may have waited at the broker.
  quantity::Span since_connected{0};
  bool session_resumed =
      false;  ///< the broker kept (or may have kept) messages for us before this connection
  int qos = 1;
  bool retained = false;   ///< the broker's last known value, older than our subscription
  bool duplicate = false;  ///< the broker's redelivery flag: a hint, not a proof
};

}  // namespace setwell::decode
