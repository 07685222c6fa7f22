#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

namespace setwell::test {

/// A port on 127.0.0.1 that was free a moment ago.
[[nodiscard]] std::uint16_t free_port();

/// Looks every 10 ms until it holds; false when it does not within the time. For what another process or
/// thread brings about: there is no event to wait for.
[[nodiscard]] bool eventually(std::chrono::milliseconds within, const std::function<bool()>& holds);

/// A TCP socket that closes itself. Throws std::runtime_error where an operation fails.
class TcpSocket {
 public:
  TcpSocket() = default;
  explicit TcpSocket(int descriptor) : descriptor_(descriptor) {}
  TcpSocket(TcpSocket&& other) noexcept;
  TcpSocket& operator=(TcpSocket&& other) noexcept;
  ~TcpSocket();

  [[nodiscard]] static TcpSocket connect_to(std::uint16_t port);
  [[nodiscard]] static TcpSocket listen_on(std::uint16_t port);
  [[nodiscard]] TcpSocket accept() const;

  void send_all(std::string_view bytes) const;
  /// What has come in; empty when the other side closed or nothing came within the time.
  [[nodiscard]] std::string receive(std::chrono::milliseconds within) const;
  /// Wakes whoever waits on it.
  void shut_down() const noexcept;
  [[nodiscard]] bool open() const { return descriptor_ >= 0; }
  [[nodiscard]] int get() const { return descriptor_; }

 private:
  int descriptor_ = -1;
};

}  // namespace setwell::test
