#include "daemon/runtime/secret_file.hpp"

#include <array>
#include <cerrno>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace setwell::runtime {
namespace {

using quantity::Result;

constexpr std::size_t kLongest = 4096;

class Opened {
 public:
  explicit Opened(const std::filesystem::path& file)
      : number_(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)) {}
  Opened(const Opened&) = delete;
  Opened& operator=(const Opened&) = delete;
  ~Opened() {
    if (number_ >= 0) ::close(number_);
  }
  [[nodiscard]] int number() const { return number_; }

 private:
  int number_;
};

std::string wrong_with(const struct stat& state) {
  if (!S_ISREG(state.st_mode)) return "is no plain file";
  if ((state.st_mode & (S_IRWXG | S_IRWXO)) != 0) return "may be read by others; right: chmod 600";
  if (state.st_uid != ::geteuid() && state.st_uid != 0)
    return "belongs to somebody else; right: chown to the daemon's user";
  if (state.st_size > static_cast<off_t>(kLongest)) return "is longer than a secret";
  return {};
}

std::string content_of(const Opened& opened) {
  std::string text;
  std::array<char, 512> buffer{};
  while (text.size() <= kLongest) {
    const auto got = ::read(opened.number(), buffer.data(), buffer.size());
    if (got <= 0) break;
    text.append(buffer.data(), static_cast<std::size_t>(got));
  }
  return text;
}

}  // namespace

Result<std::string> read_secret(const std::filesystem::path& file) {
  const Opened opened(file);
  if (opened.number() < 0) {
    return quantity::refused(
        fmt::format("the file {} cannot be read: {}", file.string(), std::generic_category().message(errno)));
  }
  struct stat state {};
  if (::fstat(opened.number(), &state) != 0)
    return quantity::refused("the file " + file.string() + " cannot be read");
  if (const auto wrong = wrong_with(state); !wrong.empty())
    return quantity::refused(fmt::format("the file {} {}", file.string(), wrong));
  auto text = content_of(opened);
  text.resize(std::min(text.find_first_of("\r\n"), text.size()));
  if (text.empty()) return quantity::refused(fmt::format("the file {} is empty", file.string()));
  return text;
}

}  // namespace setwell::runtime
