#include "sensors/mqtt/address.hpp"

#include <memory>

#include <fcntl.h>
#include <fmt/format.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace setwell::mqtt {
namespace {

constexpr int kProbeMilliseconds = 3000;

/// Owns a socket for the length of a probe.
class Socket {
 public:
  explicit Socket(int descriptor) : descriptor_(descriptor) {}
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;
  ~Socket() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  [[nodiscard]] int get() const { return descriptor_; }

 private:
  int descriptor_;
};

bool settles(int descriptor) {
  pollfd waiting{descriptor, POLLOUT, 0};
  if (::poll(&waiting, 1, kProbeMilliseconds) != 1) return false;
  int error = 0;
  socklen_t size = sizeof error;
  return ::getsockopt(descriptor, SOL_SOCKET, SO_ERROR, &error, &size) == 0 && error == 0;
}

bool accepts(const addrinfo& at) {
  const Socket socket(::socket(at.ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  if (socket.get() < 0) return false;
  if (::connect(socket.get(), at.ai_addr, at.ai_addrlen) == 0) return true;
  return errno == EINPROGRESS && settles(socket.get());
}

}  // namespace

std::string uri_of(const BrokerAddress& address) {
  const bool v6 = address.host.find(':') != std::string::npos;
  const std::string host = v6 ? fmt::format("[{}]", address.host) : address.host;
  return fmt::format("{}://{}:{}", address.tls ? "ssl" : "tcp", host, address.port);
}

bool answers(const BrokerAddress& address) noexcept try {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  if (::getaddrinfo(address.host.c_str(), fmt::format("{}", address.port).c_str(), &hints, &found) != 0)
    return false;
  const std::unique_ptr<addrinfo, decltype(&::freeaddrinfo)> owned(found, &::freeaddrinfo);
  for (const addrinfo* at = found; at != nullptr; at = at->ai_next)
    if (accepts(*at)) return true;
  return false;
} catch (...) {
  return false;
}

}  // namespace setwell::mqtt
