#include "tests/support/broker.hpp"

#include <array>
#include <csignal>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/loopback.hpp"

namespace setwell::test {
namespace {

using namespace std::chrono_literals;

/// Packages put it beside the system's services, where a person's PATH does not reach.
constexpr std::array kPlaces = {"/usr/sbin/mosquitto", "/usr/local/sbin/mosquitto", "/usr/bin/mosquitto",
                                "/usr/local/bin/mosquitto"};

const char* program() {
  for (const char* place : kPlaces)
    if (::access(place, X_OK) == 0) return place;
  return nullptr;
}

std::filesystem::path temporary_folder() {
  std::string name = (std::filesystem::temp_directory_path() / "setwell-broker-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
  return name;
}

/// In the forked child. A test that is killed takes its broker along.
[[noreturn]] void become(const char* name, const char* configuration) {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  const int nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC);
  ::dup2(nowhere, STDERR_FILENO);
  ::execl(name, name, "-c", configuration, nullptr);
  ::_exit(127);
}

bool accepts(std::uint16_t port) {
  try {
    return TcpSocket::connect_to(port).open();
  } catch (const std::runtime_error&) {
    return false;
  }
}

}  // namespace

bool Broker::installed() {
  return program() != nullptr;
}

Broker::Broker(const BrokerOptions& options) : folder_(temporary_folder()), port_(free_port()) {
  write_configuration(options);
  start();
}

Broker::~Broker() {
  thaw();
  end_with(SIGKILL);
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

void Broker::write_configuration(const BrokerOptions& options) const {
  std::ofstream file(folder_ / "broker.conf");
  file << fmt::format("listener {} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 100000\n", port_)
       << "max_inflight_messages 20\nset_tcp_nodelay true\n"
       << fmt::format("log_dest file {}\nlog_type all\n", (folder_ / "log").string());
  // Started by root it would become another user, who may not write here.
  if (::geteuid() == 0) file << "user root\n";
  if (options.persistence)
    file << fmt::format("persistence true\npersistence_location {}/\n", folder_.string());
  for (const auto& line : options.more_lines)
    file << line << '\n';
}

std::string Broker::log() const {
  std::ifstream file(folder_ / "log");
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

void Broker::start() {
  const char* const name = program() == nullptr ? "" : program();
  const std::string configuration = (folder_ / "broker.conf").string();
  pid_ = ::fork();
  if (pid_ == 0) become(name, configuration.c_str());
  if (pid_ < 0 || !eventually(5s, [this] { return accepts(port_); }))
    throw std::runtime_error("the broker does not come up: " + log());
}

void Broker::end_with(int signal) {
  if (pid_ <= 0) return;
  ::kill(pid_, signal);
  ::waitpid(pid_, nullptr, 0);
  pid_ = -1;
}

void Broker::stop() {
  end_with(SIGTERM);
}
void Broker::kill() {
  end_with(SIGKILL);
}

void Broker::freeze() {
  if (pid_ > 0) ::kill(pid_, SIGSTOP);
}

void Broker::thaw() {
  if (pid_ > 0) ::kill(pid_, SIGCONT);
}

}  // namespace setwell::test
