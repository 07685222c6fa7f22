// Preloaded into a program under test: ends it with SIGKILL at the n-th time it is about to write anywhere,
// counted from when a file appears. SETWELL_STOP_AT is n, SETWELL_STOP_FROM the file. So every step between
// two writes can be the last one, without a line in the program for it.

#include <atomic>
#include <csignal>
#include <cstdlib>

#include <dlfcn.h>
#include <sys/socket.h>
#include <sys/types.h>
#include <unistd.h>

namespace {

std::atomic<long> counted{0};

void step() {
  static const long stop_at = [] {
    const char* text = std::getenv("SETWELL_STOP_AT");
    return text == nullptr ? 0L : std::strtol(text, nullptr, 10);
  }();
  static const char* const from = std::getenv("SETWELL_STOP_FROM");
  if (stop_at <= 0 || from == nullptr || ::access(from, F_OK) != 0) return;
  if (++counted == stop_at) ::kill(::getpid(), SIGKILL);
}

template <typename Function>
Function next(const char* name) {
  return reinterpret_cast<Function>(::dlsym(RTLD_NEXT, name));
}

}  // namespace

extern "C" {

ssize_t write(int file, const void* bytes, size_t count) {
  static const auto real = next<ssize_t (*)(int, const void*, size_t)>("write");
  step();
  return real(file, bytes, count);
}

ssize_t pwrite64(int file, const void* bytes, size_t count, off64_t at) {
  static const auto real = next<ssize_t (*)(int, const void*, size_t, off64_t)>("pwrite64");
  step();
  return real(file, bytes, count, at);
}

ssize_t send(int socket, const void* bytes, size_t count, int flags) {
  static const auto real = next<ssize_t (*)(int, const void*, size_t, int)>("send");
  step();
  return real(socket, bytes, count, flags);
}

int fdatasync(int file) {
  static const auto real = next<int (*)(int)>("fdatasync");
  step();
  return real(file);
}

int fsync(int file) {
  static const auto real = next<int (*)(int)>("fsync");
  step();
  return real(file);
}
}
