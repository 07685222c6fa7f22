#include "tests/support/tcp_proxy.hpp"

#include <stdexcept>
#include <utility>

#include "tests/support/mqtt_packets.hpp"

namespace setwell::test {
namespace {

/// Far above the numbers that the client has in use.
constexpr std::uint16_t kOwnId = 65001;
constexpr std::chrono::hours kForEver{1};

}  // namespace

TcpProxy::TcpProxy(std::uint16_t broker_port)
    : broker_port_(broker_port),
      port_(free_port()),
      listener_(TcpSocket::listen_on(port_)),
      accepting_([this] { accept_all(); }) {}

TcpProxy::~TcpProxy() {
  closing_ = true;
  listener_.shut_down();
  accepting_.join();
  cut();
  for (auto& line : lines_) {
    line.up.join();
    line.down.join();
  }
}

void TcpProxy::accept_all() {
  while (true) {
    TcpSocket client = listener_.accept();
    if (closing_ || !client.open()) return;
    try {
      TcpSocket broker = TcpSocket::connect_to(broker_port_);
      const std::lock_guard lock(mutex_);
      Line& line = lines_.emplace_back();
      line.client = std::move(client);
      line.broker = std::move(broker);
      line.up = std::thread([this, &line] { carry_up(line); });
      line.down = std::thread([this, &line] { carry_down(line); });
    } catch (const std::runtime_error&) {
      // No broker: the client's connection closes.
    }
  }
}

void TcpProxy::carry_up(Line& line) try {
  std::string stream;
  for (std::string more = line.client.receive(kForEver); !more.empty();
       more = line.client.receive(kForEver)) {
    stream += more;
    while (const auto packet = take_packet(stream)) {
      const std::lock_guard lock(line.to_broker);
      line.broker.send_all(*packet);
    }
  }
  line.broker.shut_down();
} catch (const std::runtime_error&) {
  line.client.shut_down();
}

void TcpProxy::carry_down(Line& line) try {
  std::string stream;
  for (std::string more = line.broker.receive(kForEver); !more.empty();
       more = line.broker.receive(kForEver)) {
    stream += more;
    while (auto packet = take_packet(stream))
      line.client.send_all(passed_down(std::move(*packet)));
  }
  line.client.shut_down();
} catch (const std::runtime_error&) {
  line.broker.shut_down();
}

std::string TcpProxy::passed_down(std::string packet) {
  if (type_of(packet) == PacketType::unsuback && packet_id(packet) == kOwnId) {
    ++answered_;
    return {};
  }
  if (swallow_ && type_of(packet) == PacketType::publish) return {};
  if (refuse_ && type_of(packet) == PacketType::suback)
    for (std::size_t i = 4; i < packet.size(); ++i)
      packet[i] = '\x80';
  return packet;
}

void TcpProxy::unsubscribe_behind_its_back(const std::vector<std::string>& filters) {
  const std::lock_guard lock(mutex_);
  for (auto& line : lines_) {
    const std::lock_guard whole_packets(line.to_broker);
    try {
      line.broker.send_all(unsubscribe_packet(kOwnId, filters));
    } catch (const std::runtime_error&) {
      // That connection is over.
    }
  }
}

void TcpProxy::cut() {
  const std::lock_guard lock(mutex_);
  for (const auto& line : lines_) {
    line.client.shut_down();
    line.broker.shut_down();
  }
}

}  // namespace setwell::test
