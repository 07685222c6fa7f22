#include <chrono>
#include <cstdlib>
#include <iostream>

#include <unistd.h>

#include "cli/commands/daemon_call.hpp"
#include "cli/commands/program.hpp"

int main(int argc, char** argv) {
  using namespace setwell;
  const char* no_color = std::getenv("NO_COLOR");
  const cli::World world{
      cli::call_daemon,
      std::cout,
      std::cerr,
      isatty(STDOUT_FILENO) != 0,
      no_color == nullptr ? std::nullopt : std::optional<std::string>(no_color),
      std::chrono::floor<quantity::Span>(std::chrono::system_clock::now()),
      isatty(STDIN_FILENO) != 0 && isatty(STDOUT_FILENO) != 0 ? &std::cin : nullptr,
  };
  return cli::run({argv + 1, argv + argc}, world);
}
