#pragma once

#include <atomic>
#include <cstdint>
#include <list>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "tests/support/loopback.hpp"

namespace setwell::test {

/// Stands between MQTT clients and a broker and spoils things: packet by packet, so that what it leaves out
/// or puts in is always a whole packet.
class TcpProxy {
 public:
  explicit TcpProxy(std::uint16_t broker_port);
  TcpProxy(const TcpProxy&) = delete;
  TcpProxy& operator=(const TcpProxy&) = delete;
  ~TcpProxy();

  [[nodiscard]] std::uint16_t port() const { return port_; }

  /// Sends the broker an UNSUBSCRIBE in the name of every connected client and swallows the answer, so that
  /// the client never learns of it.
  void unsubscribe_behind_its_back(const std::vector<std::string>& filters);
  /// From now on every subscription looks refused to the client.
  void refuse_subscriptions(bool refuse) { refuse_ = refuse; }
  /// From now on nothing that the broker publishes reaches the client; it stays connected.
  void swallow_publications(bool swallow) { swallow_ = swallow; }
  /// Breaks every connection; new ones are let through.
  void cut();
  /// How many UNSUBSCRIBEs of its own have been answered.
  [[nodiscard]] int answered_unsubscribes() const { return answered_; }

 private:
  struct Line {
    TcpSocket client;
    TcpSocket broker;
    std::mutex to_broker;
    std::thread up;
    std::thread down;
  };

  void accept_all();
  void carry_up(Line& line);
  void carry_down(Line& line);
  /// What of a packet from the broker reaches the client; empty: nothing.
  [[nodiscard]] std::string passed_down(std::string packet);

  const std::uint16_t broker_port_;
  const std::uint16_t port_;
  TcpSocket listener_;
  std::atomic<bool> refuse_{false};
  std::atomic<bool> swallow_{false};
  std::atomic<bool> closing_{false};
  std::atomic<int> answered_{0};
  std::mutex mutex_;
  std::list<Line> lines_;
  std::thread accepting_;
};

}  // namespace setwell::test
