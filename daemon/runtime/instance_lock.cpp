#include "daemon/runtime/instance_lock.hpp"

#include <array>
#include <cerrno>
#include <string>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

namespace setwell::runtime {

namespace {

std::string words_of(int error) {
  return std::generic_category().message(error);
}

std::string holder_of(int file) {
  std::array<char, 16> text{};
  const auto length = ::pread(file, text.data(), text.size(), 0);
  std::string pid(text.data(), length > 0 ? static_cast<std::size_t>(length) : 0);
  pid.erase(std::min(pid.find_first_not_of("0123456789"), pid.size()));
  return pid.empty() ? "unknown" : pid;
}

/// The pid is for people only; the lock holds without it.
void write_pid(int file) {
  const auto pid = fmt::format("{}\n", ::getpid());
  if (::ftruncate(file, 0) == 0) {
    [[maybe_unused]] const auto written = ::pwrite(file, pid.data(), pid.size(), 0);
  }
}

}  // namespace

quantity::Result<InstanceLock> InstanceLock::take(const std::filesystem::path& file) {
  const int opened = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (opened < 0) {
    return quantity::refused(fmt::format("cannot open the lock file {}: {}", file.string(), words_of(errno)));
  }
  InstanceLock lock(opened);
  if (::flock(opened, LOCK_EX | LOCK_NB) == 0) {
    write_pid(opened);
    return lock;
  }
  if (errno != EWOULDBLOCK) {
    return quantity::refused(fmt::format("cannot lock {}: {}", file.string(), words_of(errno)));
  }
  return quantity::refused(fmt::format("already running (pid {}): it works on {}; stop that one first",
                                       holder_of(opened), file.parent_path().string()));
}

InstanceLock::InstanceLock(InstanceLock&& other) noexcept : file_(std::exchange(other.file_, -1)) {}

InstanceLock& InstanceLock::operator=(InstanceLock&& other) noexcept {
  std::swap(file_, other.file_);
  return *this;
}

InstanceLock::~InstanceLock() {
  if (file_ >= 0) ::close(file_);
}

}  // namespace setwell::runtime
