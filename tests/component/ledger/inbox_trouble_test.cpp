#include <algorithm>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <optional>
#include <random>

#include <catch2/catch.hpp>
#include <sched.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::Inbox;
using ledger::InboxOptions;
using ledger::StorageFault;
using std::chrono::milliseconds;
namespace fs = std::filesystem;

namespace {

InboxOptions without_reserve() {
  InboxOptions options;
  options.reserve_bytes = 0;
  return options;
}

/// In a child: keeps numbered messages for ever, and says each number once it was kept.
[[noreturn]] void keep_and_tell(const fs::path& file, int from, int out) {
  auto inbox = open_inbox(file, without_reserve());
  for (int number = from;; ++number) {
    inbox->keep(message(std::to_string(number)));
    if (::write(out, &number, sizeof number) != sizeof number) ::_exit(3);
  }
}

/// Lets a child keep messages from `from` on, kills it when it has told of `acknowledged`, and answers the
/// last number it had told of.
int kill_after(const fs::path& file, int from, int acknowledged, int micros) {
  int told[2];
  REQUIRE(::pipe(told) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) keep_and_tell(file, from, told[1]);
  ::close(told[1]);
  int last = from - 1;
  for (int i = 0; i < acknowledged; ++i)
    REQUIRE(::read(told[0], &last, sizeof last) == sizeof last);
  ::usleep(static_cast<useconds_t>(micros));
  ::kill(child, SIGKILL);
  while (::read(told[0], &last, sizeof last) == sizeof last) {
  }
  ::close(told[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  REQUIRE(WIFSIGNALED(status));
  return last;
}

/// Runs in a child of its own, since it changes what the whole process may do; answers its exit code.
template <typename Work>
int in_a_child(Work work) {
  std::fflush(nullptr);
  const pid_t child = ::fork();
  if (child == 0) {
    try {
      ::_exit(work());
    } catch (const std::exception& thrown) {
      std::fprintf(stderr, "%s\n", thrown.what());
      ::_exit(99);
    }
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 98;
}

/// Fills what is left of a small file system.
void fill_up(const fs::path& file) {
  std::ofstream stream(file, std::ios::binary);
  const std::string piece(4096, 'x');
  while (stream.write(piece.data(), static_cast<std::streamsize>(piece.size())) && stream.flush()) {
  }
}

bool small_file_system(const fs::path& at_folder) {
  fs::create_directories(at_folder);
  const bool apart = ::unshare(CLONE_NEWNS) == 0 || ::unshare(CLONE_NEWUSER | CLONE_NEWNS) == 0;
  return apart && ::mount(nullptr, "/", nullptr, MS_REC | MS_PRIVATE, nullptr) == 0 &&
         ::mount("tmpfs", at_folder.c_str(), "tmpfs", 0, "size=2m") == 0;
}

constexpr int kSkipped = 77;

/// Steps of the full disk; the answer tells which one failed.
int live_through_a_full_disk(const fs::path& folder) {
  if (!small_file_system(folder)) return kSkipped;
  const auto file = folder / "inbox.db";
  const auto reserve = folder / "inbox.db.reserve";
  int pauses = 0;
  bool seen_waiting = false;
  Inbox* asked = nullptr;
  InboxOptions options;
  options.reserve_bytes = 256 * 1024;
  options.sleep = [&](milliseconds) {
    seen_waiting = seen_waiting || (asked->waiting_for_storage() && asked->fault() == StorageFault::full);
    ++pauses;
    if (!fs::exists(reserve) && pauses >= 5) fs::remove(folder / "filler");
  };
  auto inbox = open_inbox(file, options);
  asked = inbox.get();
  if (fs::file_size(reserve) != 256 * 1024) return 1;
  inbox->keep(message("before"));
  fill_up(folder / "filler");
  int number = 0;
  // The reserve carries some; then it is full again, until room is made.
  while (pauses < 5 && number < 2000)
    inbox->keep(message(std::to_string(number++) + std::string(2000, 'x')));
  if (!seen_waiting) return 2;
  if (fs::exists(reserve)) return 3;
  if (fs::exists(folder / "filler")) return 4;
  if (inbox->waiting_for_storage()) return 5;
  const auto rows = open_reader(file).read(0, 10000);
  if (rows.size() != static_cast<std::size_t>(number) + 1) return 6;
  for (int i = 0; i < number; ++i) {
    if (rows[static_cast<std::size_t>(i) + 1].payload != std::to_string(i) + std::string(2000, 'x')) return 7;
  }
  return 0;
}

/// A limit on the size of files: writes fail with another error than that of a full disk.
int live_through_failing_writes(const fs::path& folder) {
  ::signal(SIGXFSZ, SIG_IGN);
  const auto file = folder / "inbox.db";
  int pauses = 0;
  std::vector<milliseconds> lengths;
  rlimit limit{};
  ::getrlimit(RLIMIT_FSIZE, &limit);
  const auto free_limit = limit.rlim_cur;
  auto options = without_reserve();
  options.sleep = [&](milliseconds pause) {
    lengths.push_back(pause);
    if (++pauses < 12) return;
    limit.rlim_cur = free_limit;
    ::setrlimit(RLIMIT_FSIZE, &limit);
  };
  auto inbox = open_inbox(file, options);
  inbox->keep(message("before"));
  limit.rlim_cur = fs::file_size(folder / "inbox.db-wal");
  ::setrlimit(RLIMIT_FSIZE, &limit);
  inbox->keep(message("during"));
  inbox->keep(message("after"));
  if (pauses != 12) return 1;
  if (lengths.front() != milliseconds(10) || lengths[1] != milliseconds(20)) return 2;
  if (lengths.back() != milliseconds(5000)) return 3;
  const auto rows = open_reader(file).read(0, 10);
  if (rows.size() != 3) return 4;
  if (rows[1].payload != "during" || rows[2].payload != "after") return 5;
  return inbox->waiting_for_storage() ? 6 : 0;
}

}  // namespace

TEST_CASE("whatever was kept survives being killed at any moment", "[inbox][kill]") {
  TempDir folder;
  const auto file = folder / "inbox.db";
  std::mt19937 random(41);
  std::vector<int> must_be_there;
  int next = 0;
  for (int round = 0; round < 40; ++round) {
    const auto messages = static_cast<int>(random() % 40);
    const int last = kill_after(file, next, messages, static_cast<int>(random() % 3000));
    for (int number = next; number <= last; ++number)
      must_be_there.push_back(number);
    // One more may have been kept that the child could not tell of.
    next = last + 1 + 1000 * (round + 1);
  }
  REQUIRE(must_be_there.size() > 100);
  std::vector<int> there;
  for (const auto& row : open_reader(file).read(0, 1'000'000))
    there.push_back(std::stoi(row.payload));
  CHECK(std::is_sorted(there.begin(), there.end()));
  CHECK(std::adjacent_find(there.begin(), there.end()) == there.end());
  CHECK(std::includes(there.begin(), there.end(), must_be_there.begin(), must_be_there.end()));
  CHECK(there.size() <= must_be_there.size() + 40);
  CHECK(Outsider(file).answer("PRAGMA integrity_check") == "ok");
}

TEST_CASE("a second process that holds the inbox for 3 s only delays", "[inbox]") {
  TempDir folder;
  const auto file = folder / "inbox.db";
  auto inbox = open_inbox(file, without_reserve());
  int ready[2];
  REQUIRE(::pipe(ready) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    Outsider other(file);
    other.run("BEGIN IMMEDIATE");
    (void)!::write(ready[1], "x", 1);
    ::sleep(3);
    other.run("ROLLBACK");
    ::_exit(0);
  }
  char byte = 0;
  REQUIRE(::read(ready[0], &byte, 1) == 1);
  for (const auto* payload : {"a", "b", "c"})
    inbox->keep(message(payload));
  int status = 0;
  ::waitpid(child, &status, 0);
  CHECK(status == 0);
  CHECK(open_reader(file).read(0, 10).size() == 3);
  ::close(ready[0]);
  ::close(ready[1]);
}

TEST_CASE("an inbox held for longer than SQLite waits is tried again until it is free", "[inbox]") {
  TempDir folder;
  const auto file = folder / "inbox.db";
  std::optional<Outsider> holder;
  std::vector<StorageFault> faults;
  Inbox* asked = nullptr;
  auto options = without_reserve();
  options.sleep = [&](milliseconds) {
    faults.push_back(asked->fault());
    holder.reset();
  };
  auto inbox = open_inbox(file, options);
  asked = inbox.get();
  holder.emplace(file);
  holder->run("BEGIN IMMEDIATE");
  inbox->keep(message("a"));
  CHECK(faults == std::vector<StorageFault>{StorageFault::busy});
  CHECK(open_reader(file).read(0, 10).size() == 1);
  CHECK_FALSE(inbox->waiting_for_storage());
}

TEST_CASE("writes that fail are tried again with pauses from 10 ms to 5 s, and nothing is lost", "[inbox]") {
  TempDir folder;
  CHECK(in_a_child([&] { return live_through_failing_writes(folder.path()); }) == 0);
}

TEST_CASE("a full disk first takes the reserve, then waits for room, and nothing is lost", "[inbox]") {
  TempDir folder;
  const int outcome = in_a_child([&] { return live_through_a_full_disk(folder / "small"); });
  if (outcome == kSkipped) {
    std::puts("skipped: no small file system can be mounted here");
    std::exit(kSkipped);
  }
  CHECK(outcome == 0);
}

}  // namespace setwell::ledger_test
