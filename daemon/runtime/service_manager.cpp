#include "daemon/runtime/service_manager.hpp"

#include <algorithm>
#include <charconv>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <utility>

#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace setwell::runtime {

namespace {

constexpr std::chrono::seconds kLeastPause{1};

std::optional<std::int64_t> number_from(const char* variable) {
  const char* text = std::getenv(variable);
  if (text == nullptr) return {};
  std::int64_t number = 0;
  const auto [end, failed] = std::from_chars(text, text + std::strlen(text), number);
  if (failed != std::errc() || *end != '\0' || number <= 0) return {};
  return number;
}

std::optional<std::chrono::microseconds> watchdog_from_environment() {
  const auto pid = number_from("WATCHDOG_PID");
  if (pid && *pid != ::getpid()) return {};
  const auto allowed = number_from("WATCHDOG_USEC");
  if (!allowed) return {};
  return std::chrono::microseconds(*allowed);
}

bool fits(std::string_view address) {
  const bool form = address.starts_with('/') || address.starts_with('@');
  return form && address.size() > 1 && address.size() < sizeof(sockaddr_un{}.sun_path);
}

std::string one_line(std::string_view text) {
  std::string line(text);
  std::replace(line.begin(), line.end(), '\n', ' ');
  return line;
}

}  // namespace

ServiceManager ServiceManager::from_environment() {
  const char* socket = std::getenv("NOTIFY_SOCKET");
  return {socket == nullptr ? "" : socket, watchdog_from_environment()};
}

ServiceManager::ServiceManager(std::string socket, std::optional<std::chrono::microseconds> watchdog)
    : address_(std::move(socket)), allowed_(watchdog) {
  if (fits(address_)) socket_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
}

ServiceManager::ServiceManager(ServiceManager&& other) noexcept
    : address_(std::move(other.address_)),
      allowed_(other.allowed_),
      socket_(std::exchange(other.socket_, -1)),
      last_watchdog_(other.last_watchdog_) {}

ServiceManager::~ServiceManager() {
  if (socket_ >= 0) ::close(socket_);
}

std::optional<std::chrono::microseconds> ServiceManager::watchdog_pause() const {
  if (!listens() || !allowed_) return {};
  return std::max<std::chrono::microseconds>(*allowed_ / 2, kLeastPause);
}

void ServiceManager::ready(std::string_view status) {
  send(fmt::format("READY=1\nMAINPID={}\nSTATUS={}", ::getpid(), one_line(status)));
}

void ServiceManager::status(std::string_view status) {
  send("STATUS=" + one_line(status));
}

void ServiceManager::reloading(SteadyInstant now) {
  const auto since = std::chrono::duration_cast<std::chrono::microseconds>(now.time_since_epoch());
  send(fmt::format("RELOADING=1\nMONOTONIC_USEC={}", since.count()));
}

void ServiceManager::stopping(std::string_view status) {
  send("STOPPING=1\nSTATUS=" + one_line(status));
}

void ServiceManager::extend_start(std::chrono::seconds more) {
  send(fmt::format("EXTEND_TIMEOUT_USEC={}", std::chrono::microseconds(more).count()));
}

void ServiceManager::watchdog(SteadyInstant now) {
  if (!allowed_ || (last_watchdog_ && now - *last_watchdog_ < kLeastPause)) return;
  last_watchdog_ = now;
  send("WATCHDOG=1");
}

void ServiceManager::send(const std::string& text) {
  if (!listens()) return;
  sockaddr_un to{};
  to.sun_family = AF_UNIX;
  std::memcpy(to.sun_path, address_.data(), address_.size());
  // An abstract name begins with a zero byte and is not terminated.
  if (to.sun_path[0] == '@') to.sun_path[0] = '\0';
  const auto length = offsetof(sockaddr_un, sun_path) + address_.size();
  [[maybe_unused]] const auto sent =
      ::sendto(socket_, text.data(), text.size(), MSG_NOSIGNAL, reinterpret_cast<const sockaddr*>(&to),
               static_cast<socklen_t>(length));
}

}  // namespace setwell::runtime
