#pragma once

#include <string>
#include <vector>

#include "cli/commands/session.hpp"

namespace setwell::cli {

/// The whole program: reads its arguments (without its own name), carries out one command, answers the exit
/// code (cli/exit_code.hpp). Without a command it shows `now`.
[[nodiscard]] int run(std::vector<std::string> arguments, const World& world);

}  // namespace setwell::cli
