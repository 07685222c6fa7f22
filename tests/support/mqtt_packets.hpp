#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tests/support/loopback.hpp"

/// Just enough of MQTT 3.1.1 to play a sensor, a rival client or a broken network, without the library that
/// the product uses.
namespace setwell::test {

/// Packet types, from the upper half of the first byte.
enum class PacketType : std::uint8_t {
  connect = 1,
  connack,
  publish,
  puback,
  pubrec,
  pubrel,
  pubcomp,
  subscribe,
  suback,
  unsubscribe,
  unsuback,
  pingreq,
  pingresp,
  disconnect
};

[[nodiscard]] PacketType type_of(std::string_view packet);
/// Takes the first whole packet off the front of a stream; nothing when it is not all there yet.
[[nodiscard]] std::optional<std::string> take_packet(std::string& stream);
/// Of SUBSCRIBE, SUBACK, UNSUBSCRIBE, UNSUBACK and PUBACK.
[[nodiscard]] std::uint16_t packet_id(std::string_view packet);

[[nodiscard]] std::string connect_packet(const std::string& client_id, bool clean_session);
[[nodiscard]] std::string unsubscribe_packet(std::uint16_t id, const std::vector<std::string>& filters);

struct SentMessage {
  std::string topic;
  std::string payload;
  int qos = 1;
  bool retained = false;
};
[[nodiscard]] std::string publish_packet(const SentMessage& message, std::uint16_t id);

/// A client that connects, publishes and waits for each acknowledgement. Throws std::runtime_error when the
/// broker does not answer within 5 s.
class PlainClient {
 public:
  PlainClient(std::uint16_t port, const std::string& client_id, bool clean_session = true);
  void publish(const SentMessage& message);

 private:
  std::string await(PacketType type);
  TcpSocket socket_;
  std::string stream_;
  std::uint16_t next_id_ = 1;
};

}  // namespace setwell::test
