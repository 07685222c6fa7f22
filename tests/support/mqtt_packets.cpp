#include "tests/support/mqtt_packets.hpp"

#include <stdexcept>

namespace setwell::test {
namespace {

std::string two_bytes(std::size_t value) {
  return {static_cast<char>(value >> 8 & 0xff), static_cast<char>(value & 0xff)};
}

std::string text(const std::string& value) {
  return two_bytes(value.size()) + value;
}

std::string packet(int first, const std::string& body) {
  std::string bytes(1, static_cast<char>(first));
  std::size_t left = body.size();
  do {
    const auto digit = left % 128;
    left /= 128;
    bytes += static_cast<char>(digit | (left > 0 ? 0x80 : 0));
  } while (left > 0);
  return bytes + body;
}

/// Where the body begins, and how long it is.
struct Body {
  std::size_t begin = 0;
  std::size_t size = 0;
};

std::optional<Body> body_of(std::string_view stream) {
  Body body;
  std::size_t factor = 1;
  for (std::size_t i = 1; i < stream.size() && i < 5; ++i, factor *= 128) {
    const auto byte = static_cast<unsigned char>(stream[i]);
    body.size += (byte & 0x7fU) * factor;
    if ((byte & 0x80U) == 0) {
      body.begin = i + 1;
      return body;
    }
  }
  return std::nullopt;
}

}  // namespace

PacketType type_of(std::string_view packet) {
  return static_cast<PacketType>(static_cast<unsigned char>(packet.at(0)) >> 4);
}

std::optional<std::string> take_packet(std::string& stream) {
  const auto body = body_of(stream);
  if (!body || stream.size() < body->begin + body->size) return std::nullopt;
  std::string taken = stream.substr(0, body->begin + body->size);
  stream.erase(0, taken.size());
  return taken;
}

std::uint16_t packet_id(std::string_view packet) {
  const auto body = body_of(packet);
  if (!body || body->size < 2) return 0;
  const auto high = static_cast<unsigned char>(packet[body->begin]);
  const auto low = static_cast<unsigned char>(packet[body->begin + 1]);
  return static_cast<std::uint16_t>(high << 8 | low);
}

std::string connect_packet(const std::string& client_id, bool clean_session) {
  const std::string flags(1, clean_session ? '\x02' : '\0');
  return packet(0x10, text("MQTT") + '\x04' + flags + two_bytes(60) + text(client_id));
}

std::string unsubscribe_packet(std::uint16_t id, const std::vector<std::string>& filters) {
  std::string body = two_bytes(id);
  for (const auto& filter : filters)
    body += text(filter);
  return packet(0xa2, body);
}

std::string publish_packet(const SentMessage& message, std::uint16_t id) {
  const std::string number = message.qos > 0 ? two_bytes(id) : std::string();
  return packet(0x30 | message.qos << 1 | (message.retained ? 1 : 0),
                text(message.topic) + number + message.payload);
}

PlainClient::PlainClient(std::uint16_t port, const std::string& client_id, bool clean_session)
    : socket_(TcpSocket::connect_to(port)) {
  socket_.send_all(connect_packet(client_id, clean_session));
  await(PacketType::connack);
}

void PlainClient::publish(const SentMessage& message) {
  socket_.send_all(publish_packet(message, next_id_));
  next_id_ = static_cast<std::uint16_t>(next_id_ % 60000 + 1);
  if (message.qos > 0) await(PacketType::puback);
}

std::string PlainClient::await(PacketType type) {
  while (true) {
    while (auto packet = take_packet(stream_))
      if (type_of(*packet) == type) return *packet;
    const std::string more = socket_.receive(std::chrono::seconds(5));
    if (more.empty()) throw std::runtime_error("the broker does not answer");
    stream_ += more;
  }
}

}  // namespace setwell::test
