#include "daemon/rpc/socket_file.hpp"

#include <cerrno>
#include <cstring>
#include <optional>
#include <string>
#include <system_error>
#include <utility>

#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

namespace setwell::rpc {

namespace {

constexpr int kWaiting = 64;
constexpr mode_t kMode = 0660;

quantity::Error cannot(const std::filesystem::path& path, std::string_view what) {
  return quantity::refused(fmt::format("cannot listen at {}: {}", path.string(), what));
}

quantity::Error failed(const std::filesystem::path& path) {
  return cannot(path, std::generic_category().message(errno));
}

/// A descriptor that is closed unless it is given away.
class Socket {
 public:
  Socket() : file_(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)) {}
  ~Socket() {
    if (file_ >= 0) ::close(file_);
  }
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;

  [[nodiscard]] int get() const { return file_; }
  [[nodiscard]] int give() { return std::exchange(file_, -1); }

 private:
  int file_;
};

sockaddr_un address_of(const std::filesystem::path& path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::memcpy(address.sun_path, path.c_str(), path.native().size());
  return address;
}

bool bind_to(const Socket& socket, const sockaddr_un& address) {
  return ::bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
}

/// A full backlog (EAGAIN) is an answer too: somebody is there.
bool somebody_answers(const sockaddr_un& address) {
  const Socket probe;
  const auto* to = reinterpret_cast<const sockaddr*>(&address);
  return ::connect(probe.get(), to, sizeof address) == 0 || errno == EAGAIN || errno == EINPROGRESS;
}

std::optional<quantity::Error> clear_the_way(const std::filesystem::path& path, const sockaddr_un& address) {
  struct stat found {};
  if (::lstat(path.c_str(), &found) != 0) return errno == ENOENT ? std::nullopt : std::optional(failed(path));
  if (!S_ISSOCK(found.st_mode))
    return cannot(path, "a file that is no socket is in the way; move it elsewhere");
  if (somebody_answers(address)) return cannot(path, "already running: another daemon answers there");
  if (::unlink(path.c_str()) != 0 && errno != ENOENT) return failed(path);
  return {};
}

}  // namespace

quantity::Result<int> listen_at(const std::filesystem::path& path) {
  if (path.native().size() >= sizeof(sockaddr_un{}.sun_path)) return cannot(path, "the path is too long");
  Socket socket;
  if (socket.get() < 0) return failed(path);
  const auto address = address_of(path);
  bool bound = bind_to(socket, address);
  if (!bound && errno == EADDRINUSE) {
    if (auto in_the_way = clear_the_way(path, address)) return *in_the_way;
    bound = bind_to(socket, address);
  }
  // Nobody can connect before it listens, so the mode is right from the first client on.
  if (!bound || ::chmod(path.c_str(), kMode) != 0 || ::listen(socket.get(), kWaiting) != 0)
    return failed(path);
  return socket.give();
}

}  // namespace setwell::rpc
