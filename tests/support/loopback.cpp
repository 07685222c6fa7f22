#include "tests/support/loopback.hpp"

#include <cerrno>
#include <cstring>
#include <stdexcept>
#include <thread>
#include <utility>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace setwell::test {
namespace {

[[noreturn]] void fail(const char* what) {
  throw std::runtime_error(std::string(what) + ": " + std::strerror(errno));
}

sockaddr_in loopback(std::uint16_t port) {
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_port = htons(port);
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return at;
}

const sockaddr* generic(const sockaddr_in& at) {
  return reinterpret_cast<const sockaddr*>(&at);
}

TcpSocket make_socket() {
  const int descriptor = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (descriptor < 0) fail("socket");
  return TcpSocket(descriptor);
}

}  // namespace

std::uint16_t free_port() {
  const TcpSocket socket = make_socket();
  sockaddr_in at = loopback(0);
  socklen_t size = sizeof at;
  if (::bind(socket.get(), generic(at), size) != 0) fail("bind");
  if (::getsockname(socket.get(), reinterpret_cast<sockaddr*>(&at), &size) != 0) fail("getsockname");
  return ntohs(at.sin_port);
}

bool eventually(std::chrono::milliseconds within, const std::function<bool()>& holds) {
  const auto deadline = std::chrono::steady_clock::now() + within;
  while (!holds()) {
    if (std::chrono::steady_clock::now() >= deadline) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return true;
}

TcpSocket::TcpSocket(TcpSocket&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}

TcpSocket& TcpSocket::operator=(TcpSocket&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

TcpSocket::~TcpSocket() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

TcpSocket TcpSocket::connect_to(std::uint16_t port) {
  TcpSocket socket = make_socket();
  const sockaddr_in at = loopback(port);
  if (::connect(socket.get(), generic(at), sizeof at) != 0) fail("connect");
  return socket;
}

TcpSocket TcpSocket::listen_on(std::uint16_t port) {
  TcpSocket socket = make_socket();
  const int yes = 1;
  ::setsockopt(socket.get(), SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  const sockaddr_in at = loopback(port);
  if (::bind(socket.get(), generic(at), sizeof at) != 0) fail("bind");
  if (::listen(socket.get(), 16) != 0) fail("listen");
  return socket;
}

TcpSocket TcpSocket::accept() const {
  return TcpSocket(::accept4(descriptor_, nullptr, nullptr, SOCK_CLOEXEC));
}

void TcpSocket::send_all(std::string_view bytes) const {
  while (!bytes.empty()) {
    const auto sent = ::send(descriptor_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent <= 0) fail("send");
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
}

std::string TcpSocket::receive(std::chrono::milliseconds within) const {
  pollfd waiting{descriptor_, POLLIN, 0};
  if (::poll(&waiting, 1, static_cast<int>(within.count())) != 1) return {};
  std::string bytes(65536, '\0');
  const auto count = ::recv(descriptor_, bytes.data(), bytes.size(), 0);
  bytes.resize(count > 0 ? static_cast<std::size_t>(count) : 0);
  return bytes;
}

void TcpSocket::shut_down() const noexcept {
  if (open()) ::shutdown(descriptor_, SHUT_RDWR);
}

}  // namespace setwell::test
