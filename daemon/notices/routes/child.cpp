#include "daemon/notices/routes/child.hpp"

#include <array>
#include <cerrno>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

namespace setwell::notices {
namespace {

using quantity::Error;
using quantity::ErrorKind;
using quantity::Result;

constexpr std::size_t kMostSaid = 400;

Error no_start(const std::string& program, int code) {
  return Error{ErrorKind::not_found,
               "cannot start " + program + ": " + std::error_code(code, std::generic_category()).message()};
}

struct Pipe {
  File reading;
  File writing;
};

Result<Pipe> new_pipe() {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) return no_start("a pipe", errno);
  return Pipe{File(ends[0]), File(ends[1])};
}

/// What the new program gets of ours: three files, no more.
class Files {
 public:
  Files(int input, int errors) {
    posix_spawn_file_actions_init(&actions_);
    posix_spawn_file_actions_adddup2(&actions_, input, STDIN_FILENO);
    posix_spawn_file_actions_addopen(&actions_, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_adddup2(&actions_, errors, STDERR_FILENO);
    posix_spawn_file_actions_addclosefrom_np(&actions_, STDERR_FILENO + 1);
  }
  Files(const Files&) = delete;
  Files& operator=(const Files&) = delete;
  ~Files() { posix_spawn_file_actions_destroy(&actions_); }
  [[nodiscard]] const posix_spawn_file_actions_t* get() const { return &actions_; }

 private:
  posix_spawn_file_actions_t actions_{};
};

/// Its own process group; signals as in a fresh login, though the courier blocks them all.
class Manners {
 public:
  Manners() {
    posix_spawnattr_init(&attributes_);
    sigset_t none;
    sigset_t all;
    sigemptyset(&none);
    sigfillset(&all);
    posix_spawnattr_setsigmask(&attributes_, &none);
    posix_spawnattr_setsigdefault(&attributes_, &all);
    posix_spawnattr_setpgroup(&attributes_, 0);
    posix_spawnattr_setflags(&attributes_,
                             POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  }
  Manners(const Manners&) = delete;
  Manners& operator=(const Manners&) = delete;
  ~Manners() { posix_spawnattr_destroy(&attributes_); }
  [[nodiscard]] const posix_spawnattr_t* get() const { return &attributes_; }

 private:
  posix_spawnattr_t attributes_{};
};

int spawn(pid_t& pid, std::vector<std::string> argv, const Files& files) {
  std::string path = "PATH=/usr/local/bin:/usr/bin:/bin";
  std::string language = "LANG=C.UTF-8";
  std::array<char*, 3> environment{path.data(), language.data(), nullptr};
  std::vector<char*> words;
  for (auto& word : argv)
    words.push_back(word.data());
  words.push_back(nullptr);
  const Manners manners;
  return ::posix_spawnp(&pid, words[0], files.get(), manners.get(), words.data(), environment.data());
}

}  // namespace

void File::close() {
  if (number_ >= 0) ::close(std::exchange(number_, -1));
}

Result<Child> Child::start(const std::vector<std::string>& argv) {
  if (argv.empty()) return no_start("a program without a name", ENOENT);
  auto input = new_pipe();
  if (!input) return input.error();
  auto errors = new_pipe();
  if (!errors) return errors.error();
  pid_t pid = 0;
  const int code = spawn(pid, argv, Files(input->reading.number(), errors->writing.number()));
  if (code != 0) return no_start(argv.front(), code);
  ::fcntl(input->writing.number(), F_SETFL, O_NONBLOCK);
  ::fcntl(errors->reading.number(), F_SETFL, O_NONBLOCK);
  return Child(pid, std::move(input->writing), std::move(errors->reading));
}

Child::Child(Child&& other) noexcept
    : pid_(std::exchange(other.pid_, 0)),
      input_(std::move(other.input_)),
      errors_(std::move(other.errors_)),
      said_(std::move(other.said_)) {}

Child::~Child() {
  kill_all();
}

void Child::feed(std::string_view& input, std::chrono::milliseconds patience) {
  std::array<pollfd, 2> wanted{pollfd{input_.number(), POLLOUT, 0}, pollfd{errors_.number(), POLLIN, 0}};
  ::poll(wanted.data(), wanted.size(), static_cast<int>(patience.count()));
  listen();
  if (!input_.is_open()) return;
  if (!input.empty()) {
    const auto written = ::write(input_.number(), input.data(), input.size());
    if (written > 0) input.remove_prefix(static_cast<std::size_t>(written));
    // A program need not read what it is given: only how it ends counts.
    if (written < 0 && errno == EPIPE) input_.close();
  }
  if (input.empty()) input_.close();
}

std::optional<int> Child::status() {
  int status = 0;
  if (pid_ == 0 || ::waitpid(pid_, &status, WNOHANG) != pid_) return std::nullopt;
  pid_ = 0;
  return status;
}

void Child::kill_all() noexcept {
  if (pid_ == 0) return;
  ::kill(-pid_, SIGKILL);
  while (::waitpid(pid_, nullptr, 0) < 0 && errno == EINTR) {
  }
  pid_ = 0;
}

std::string Child::last_words() {
  listen();
  while (!said_.empty() && (said_.back() == '\n' || said_.back() == '\r'))
    said_.pop_back();
  const auto line = said_.rfind('\n');
  return line == std::string::npos ? said_ : said_.substr(line + 1);
}

void Child::listen() {
  if (!errors_.is_open()) return;
  std::array<char, 1024> buffer{};
  constexpr int kAtOnce = 64;  // one that never stops speaking must not keep us from watching the clock
  for (int i = 0; i < kAtOnce; ++i) {
    const auto got = ::read(errors_.number(), buffer.data(), buffer.size());
    if (got == 0) errors_.close();
    if (got <= 0) return;
    said_.append(buffer.data(), static_cast<std::size_t>(got));
    if (said_.size() > kMostSaid) said_.erase(0, said_.size() - kMostSaid);
  }
}

}  // namespace setwell::notices
