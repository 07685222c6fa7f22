#include "cli/transport/client.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <system_error>
#include <utility>

#include <fmt/format.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace setwell::transport {

namespace {

using quantity::Error;
using std::chrono::milliseconds;

constexpr auto kServiceSocket = "/run/setwell/setwell.sock";

Error unreachable(std::string detail) {
  return {quantity::ErrorKind::unreachable, std::move(detail)};
}

Error nobody_there(const std::filesystem::path& path) {
  return unreachable(fmt::format(
      "setwelld is not running, or its socket is not {}; start it with `systemctl start setwelld` "
      "or by hand with `setwelld --config FILE`, or name its socket with --socket",
      path.string()));
}

Error failed(const std::filesystem::path& path, int error) {
  if (error == ENOENT || error == ECONNREFUSED || error == ENOTDIR) return nobody_there(path);
  if (error == EACCES) {
    return unreachable(
        fmt::format("no permission to use {}; the socket's group may (see `ls -l` there)", path.string()));
  }
  return unreachable(
      fmt::format("cannot reach setwelld at {}: {}", path.string(), std::generic_category().message(error)));
}

Error hung_up() {
  return unreachable("setwelld ended the conversation; its log says why (`journalctl -u setwelld`)");
}

int wait_ms(std::chrono::steady_clock::time_point deadline) {
  const auto left = std::chrono::ceil<milliseconds>(deadline - std::chrono::steady_clock::now());
  return static_cast<int>(std::clamp<std::int64_t>(left.count(), 0, 3'600'000));
}

}  // namespace

std::filesystem::path socket_path(const std::optional<std::filesystem::path>& stated) {
  if (stated) return *stated;
  const char* folder = std::getenv("XDG_RUNTIME_DIR");
  if (folder != nullptr && *folder != '\0') {
    std::error_code ignored;
    auto own = std::filesystem::path(folder) / "setwell.sock";
    if (std::filesystem::exists(own, ignored)) return own;
  }
  return kServiceSocket;
}

quantity::Result<Client> Client::connect(const std::filesystem::path& socket, std::string_view program,
                                         milliseconds patience) {
  const int file = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (file < 0) return failed(socket, errno);
  Client client(file, socket);
  if (auto error = client.connect_by(std::chrono::steady_clock::now() + patience)) return *error;
  const auto greeted = client.call("hello", {{"client", program}, {"protocol", api::kProtocol}}, patience);
  if (greeted) return client;
  // Whatever keeps us from getting as far as a greeting, the daemon cannot be used.
  return unreachable(greeted.error().detail);
}

Client::Client(Client&& other) noexcept
    : socket_(std::exchange(other.socket_, -1)),
      path_(std::move(other.path_)),
      lines_(std::move(other.lines_)),
      last_id_(other.last_id_) {}

Client::~Client() {
  if (socket_ >= 0) ::close(socket_);
}

quantity::Result<boost::json::object> Client::call(std::string_view method, const boost::json::object& params,
                                                   milliseconds patience) {
  if (socket_ < 0) return hung_up();
  const auto deadline = std::chrono::steady_clock::now() + patience;
  if (auto error = send_by(deadline, api::call_line(++last_id_, method, params))) return over(*error);
  const auto line = line_by(deadline);
  if (!line) return over(line.error());
  auto answer = api::parse_answer(*line, last_id_);
  if (!answer && answer.error().kind == quantity::ErrorKind::unreachable) return over(answer.error());
  return answer;
}

Error Client::not_understood(std::string_view method, const Error& why) {
  return unreachable(
      fmt::format("setwelld answered {} in a form this program does not know ({}); bring both to "
                  "one version",
                  method, why.detail));
}

std::optional<Error> Client::connect_by(Deadline deadline) {
  sockaddr_un to{};
  to.sun_family = AF_UNIX;
  if (path_.native().size() >= sizeof to.sun_path) return failed(path_, ENAMETOOLONG);
  std::memcpy(to.sun_path, path_.c_str(), path_.native().size());
  while (::connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0) {
    if (errno == EINTR) continue;
    // A unix socket whose backlog is full says "again" and does not tell when.
    if (errno != EAGAIN) return failed(path_, errno);
    if (std::chrono::steady_clock::now() >= deadline) return failed(path_, ETIMEDOUT);
    ::poll(nullptr, 0, 10);
  }
  return {};
}

std::optional<Error> Client::send_by(Deadline deadline, std::string_view line) {
  while (!line.empty()) {
    const auto sent = ::send(socket_, line.data(), line.size(), MSG_NOSIGNAL);
    if (sent >= 0) {
      line.remove_prefix(static_cast<std::size_t>(sent));
    } else if (errno == EAGAIN) {
      if (auto error = wait_by(deadline, POLLOUT)) return error;
    } else if (errno == EPIPE || errno == ECONNRESET) {
      // What it said before it hung up may still be there to read.
      return {};
    } else if (errno != EINTR) {
      return failed(path_, errno);
    }
  }
  return {};
}

quantity::Result<std::string> Client::line_by(Deadline deadline) {
  std::array<char, 64 * 1024> bytes;
  while (true) {
    if (auto line = lines_.next()) return std::move(*line);
    if (lines_.too_long()) return unreachable("setwelld sent more than an answer may hold");
    if (auto error = wait_by(deadline, POLLIN)) return *error;
    const auto got = ::recv(socket_, bytes.data(), bytes.size(), 0);
    if (got > 0) {
      lines_.add({bytes.data(), static_cast<std::size_t>(got)});
    } else if (got == 0 || errno == ECONNRESET) {
      return hung_up();
    } else if (errno != EINTR && errno != EAGAIN) {
      return failed(path_, errno);
    }
  }
}

std::optional<Error> Client::wait_by(Deadline deadline, short events) {
  pollfd waited{socket_, events, 0};
  const int ready = ::poll(&waited, 1, wait_ms(deadline));
  if (ready > 0 || (ready < 0 && errno == EINTR)) return {};
  if (ready < 0) return failed(path_, errno);
  return unreachable("setwelld did not answer in time; `setwell status` or its log may say what keeps it");
}

Error Client::over(Error why) {
  ::close(std::exchange(socket_, -1));
  return why;
}

}  // namespace setwell::transport
