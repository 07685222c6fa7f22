#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <sys/types.h>

#include "sensors/quantity/error.hpp"

namespace setwell::notices {

/// An open file of this process; closed with its owner.
class File {
 public:
  explicit File(int number = -1) : number_(number) {}
  File(File&& other) noexcept : number_(other.number_) { other.number_ = -1; }
  File& operator=(File&&) = delete;
  ~File() { close(); }
  [[nodiscard]] int number() const { return number_; }
  [[nodiscard]] bool is_open() const { return number_ >= 0; }
  void close();

 private:
  int number_;
};

/// A running program in its own process group: no shell, standard output to nowhere, no files and no
/// environment of ours but PATH and LANG. Its standard input is a pipe we write to; what it says on standard
/// error is heard. Whoever writes must have SIGPIPE blocked or ignored. Thread: one.
class Child {
 public:
  /// `not_found` where the program cannot be started, with the system's reason.
  [[nodiscard]] static quantity::Result<Child> start(const std::vector<std::string>& argv);
  Child(Child&& other) noexcept;
  Child& operator=(Child&&) = delete;
  /// Kills it if it still runs.
  ~Child();

  /// Writes as much of `input` as the pipe takes, waiting at most `patience` for room, for the program to
  /// speak or (when nothing is left to write) just so long. Closes the pipe after the last byte, or when
  /// nobody reads.
  void feed(std::string_view& input, std::chrono::milliseconds patience);
  /// The status as waitpid tells it, once it has ended; nothing while it runs.
  [[nodiscard]] std::optional<int> status();
  /// SIGKILL to its whole process group, and waits for it: whatever it started itself ends too, unless it
  /// left the group.
  void kill_all() noexcept;
  /// The last line it wrote to standard error, of at most a few hundred bytes.
  [[nodiscard]] std::string last_words();

 private:
  Child(pid_t pid, File input, File errors)
      : pid_(pid), input_(std::move(input)), errors_(std::move(errors)) {}
  void listen();

  pid_t pid_;
  File input_;
  File errors_;
  std::string said_;
};

}  // namespace setwell::notices
