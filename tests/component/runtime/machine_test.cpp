#include <array>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/runtime/clocks.hpp"
#include "daemon/runtime/instance_lock.hpp"
#include "daemon/runtime/log.hpp"
#include "daemon/runtime/seldom.hpp"
#include "daemon/runtime/service_manager.hpp"
#include "tests/support/temp_dir.hpp"

namespace {

using namespace setwell;
using namespace std::chrono_literals;
using runtime::InstanceLock;
using runtime::LogLevel;
using runtime::SteadyInstant;
using test_support::TempDir;

const SteadyInstant kBegin(1h);

TEST_CASE("Rehearsed time follows the readings and never goes back", "[clock]") {
  runtime::RehearsalClock clock(quantity::instant_from_ms(1000));
  clock.advance_to(quantity::instant_from_ms(5000));
  clock.advance_to(quantity::instant_from_ms(2000));
  CHECK(quantity::to_ms(clock.wall_now()) == 5000);
  const auto before = std::chrono::steady_clock::now();
  CHECK((clock.steady_now() >= before));
}

TEST_CASE("A second daemon on the same folder is refused and told who holds it", "[lock]") {
  const TempDir folder;
  auto first = InstanceLock::take(folder / "lock");
  REQUIRE(first.has_value());
  const auto second = InstanceLock::take(folder / "lock");
  REQUIRE(second.has_error());
  CHECK(second.error().detail.starts_with("already running (pid " + std::to_string(::getpid()) + ")"));
}

TEST_CASE("The lock is free again when its holder is gone, killed or not", "[lock]") {
  const TempDir folder;
  const pid_t child = ::fork();
  if (child == 0) {
    const auto held = InstanceLock::take(folder / "lock");
    ::raise(SIGKILL);
    ::_exit(held.has_value() ? 0 : 1);
  }
  int state = 0;
  REQUIRE(::waitpid(child, &state, 0) == child);
  REQUIRE(WIFSIGNALED(state));
  {
    const auto lock = InstanceLock::take(folder / "lock");
    CHECK(lock.has_value());
  }
  CHECK(InstanceLock::take(folder / "lock").has_value());
}

TEST_CASE("A lock that is moved is held by whoever has it now", "[lock]") {
  const TempDir folder;
  auto taken = InstanceLock::take(folder / "lock");
  REQUIRE(taken.has_value());
  {
    const InstanceLock owner = std::move(*taken);
    CHECK(InstanceLock::take(folder / "lock").has_error());
  }
  CHECK(InstanceLock::take(folder / "lock").has_value());
}

TEST_CASE("A lock in a folder that is not there is refused with the reason", "[lock]") {
  const TempDir folder;
  const auto lock = InstanceLock::take(folder / "none" / "lock");
  REQUIRE(lock.has_error());
  CHECK(lock.error().detail.find("No such file") != std::string::npos);
}

/// The service manager's end of the wire.
class Manager {
 public:
  explicit Manager(std::string address) : socket_(::socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK, 0)) {
    sockaddr_un own{};
    own.sun_family = AF_UNIX;
    std::memcpy(own.sun_path, address.data(), address.size());
    if (address.front() == '@') own.sun_path[0] = '\0';
    const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + address.size());
    REQUIRE(::bind(socket_, reinterpret_cast<sockaddr*>(&own), length) == 0);
  }
  ~Manager() { ::close(socket_); }
  Manager(const Manager&) = delete;
  Manager& operator=(const Manager&) = delete;

  std::string next() {
    std::array<char, 512> text{};
    const auto length = ::recv(socket_, text.data(), text.size(), 0);
    return length < 0 ? "" : std::string(text.data(), static_cast<std::size_t>(length));
  }

 private:
  int socket_;
};

TEST_CASE("The service manager hears ready, status and stopping, each as one message", "[service-manager]") {
  const TempDir folder;
  const std::string address =
      GENERATE(true, false) ? (folder / "notify").string() : "@setwell-test-" + std::to_string(::getpid());
  Manager manager(address);
  runtime::ServiceManager told(address, std::nullopt);
  told.ready("6 channels\nREADY=0");
  CHECK(manager.next() == "READY=1\nMAINPID=" + std::to_string(::getpid()) + "\nSTATUS=6 channels READY=0");
  told.extend_start(30s);
  CHECK(manager.next() == "EXTEND_TIMEOUT_USEC=30000000");
  told.reloading(kBegin);
  CHECK(manager.next() == "RELOADING=1\nMONOTONIC_USEC=3600000000");
  told.stopping("closing");
  CHECK(manager.next() == "STOPPING=1\nSTATUS=closing");
  CHECK(manager.next().empty());
}

TEST_CASE("The watchdog is told at half the time allowed and at most once a second", "[service-manager]") {
  const TempDir folder;
  Manager manager((folder / "notify").string());
  runtime::ServiceManager told((folder / "notify").string(), 30s);
  CHECK(told.watchdog_pause() == 15s);
  told.watchdog(kBegin);
  told.watchdog(kBegin + 900ms);
  CHECK(manager.next() == "WATCHDOG=1");
  CHECK(manager.next().empty());
  told.watchdog(kBegin + 1s);
  CHECK(manager.next() == "WATCHDOG=1");
}

TEST_CASE("Started by hand, nothing is told and nothing fails", "[service-manager]") {
  ::unsetenv("NOTIFY_SOCKET");
  auto told = runtime::ServiceManager::from_environment();
  CHECK_FALSE(told.listens());
  told.ready("up");
  told.watchdog(kBegin);
  CHECK_FALSE(told.watchdog_pause().has_value());
}

TEST_CASE("A watchdog meant for another process is not ours", "[service-manager]") {
  ::setenv("NOTIFY_SOCKET", "@nobody", 1);
  ::setenv("WATCHDOG_USEC", "20000000", 1);
  ::setenv("WATCHDOG_PID", "1", 1);
  CHECK_FALSE(runtime::ServiceManager::from_environment().watchdog_pause().has_value());
  ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
  CHECK(runtime::ServiceManager::from_environment().watchdog_pause() == 10s);
  for (const auto* name : {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"})
    ::unsetenv(name);
}

struct Lines {
  std::vector<std::string> lines;
  runtime::Log log = runtime::Log::to_lines([this](std::string_view line) { lines.emplace_back(line); });
};

TEST_CASE("One event is one line, whatever it quotes", "[log]") {
  Lines heard;
  heard.log.warning("payload {}\n\x1b[2Jerror: forged %v");
  heard.log.debug("not shown");
  CHECK(heard.lines == std::vector<std::string>{"warning: payload {}??[2Jerror: forged %v"});
}

TEST_CASE("What repeats without end is one line in ten minutes, with how many were held back", "[log]") {
  Lines heard;
  for (int i = 0; i < 50; ++i)
    heard.log.seldom(LogLevel::warning, "key", "broker away", kBegin + i * 1s);
  heard.log.seldom(LogLevel::warning, "other", "disk filling", kBegin);
  heard.log.seldom(LogLevel::warning, "key", "broker away", kBegin + 10min);
  CHECK(heard.lines == std::vector<std::string>{"warning: broker away", "warning: disk filling",
                                                "warning: broker away (49 more like this)"});
}

TEST_CASE("However many keys there are, the memory of them is bounded", "[log]") {
  runtime::Seldom seldom(600s);
  for (int i = 0; i < 10'000; ++i) {
    CHECK(seldom.let_through("key " + std::to_string(i), kBegin + i * 1ms) == 0u);
  }
  CHECK_FALSE(seldom.let_through("key 9999", kBegin + 11s).has_value());
  CHECK(seldom.let_through("key 0", kBegin + 11s).has_value());
}

TEST_CASE("Under a journal a line carries its priority and no time of its own", "[log]") {
  std::array<int, 2> ends{};
  REQUIRE(::pipe(ends.data()) == 0);
  const int kept = ::dup(STDERR_FILENO);
  ::dup2(ends[1], STDERR_FILENO);
  ::setenv("JOURNAL_STREAM", "8:1", 1);
  runtime::Log::to_standard_error().error("disk full");
  ::unsetenv("JOURNAL_STREAM");
  ::dup2(kept, STDERR_FILENO);
  std::array<char, 100> text{};
  const auto length = ::read(ends[0], text.data(), text.size());
  for (const int end : {ends[0], ends[1], kept})
    ::close(end);
  REQUIRE(length > 0);
  CHECK(std::string(text.data(), static_cast<std::size_t>(length)) == "<3>disk full\n");
}

}  // namespace
