#pragma once

#include <functional>
#include <memory>
#include <string>
#include <utility>

#include <CLI/CLI.hpp>

#include "cli/commands/session.hpp"

namespace setwell::cli {

/// The commands as the argument parser knows them, and the one that was chosen.
struct Menu {
  CLI::App& app;
  std::function<int(Session&)> chosen;
};

void add_asking(Menu& menu);
void add_pieces(Menu& menu);
void add_logging(Menu& menu);
void add_records(Menu& menu);
void add_materials(Menu& menu);
void add_reviewing(Menu& menu);

inline CLI::App& add_command(CLI::App& parent, const std::string& name, const std::string& does,
                             const std::string& example) {
  auto* command = parent.add_subcommand(name, does);
  command->footer("Every command takes --json, --socket PATH and --no-colour too.\nExample:\n  " + example);
  return *command;
}

/// Chosen, the command does this.
inline void does(Menu& menu, CLI::App& command, std::function<int(Session&)> act) {
  command.callback([&menu, act = std::move(act)] { menu.chosen = act; });
}

/// Chosen, the command asks the daemon with what was typed and shows the answer.
template <typename Answer, typename Params>
void asks(Menu& menu, CLI::App& command, std::string method, std::shared_ptr<Params> params) {
  does(menu, command, [method = std::move(method), params = std::move(params)](Session& session) {
    return session.ask<Answer>(method, *params);
  });
}

/// A number as written everywhere: a decimal point, no infinity, nothing after it.
[[nodiscard]] std::string not_a_number(const std::string& text);

template <typename T>
CLI::Option* add_number(CLI::App& command, const std::string& name, T& to, const std::string& what) {
  return command.add_option(name, to, what)->check(CLI::Validator(not_a_number, "NUMBER"));
}

inline void add_at(CLI::App& command, std::optional<std::string>& at) {
  command.add_option("--at", at,
                     "when: 20m (ago), 14:30, ~14:30, 14:00..15:00, \"yesterday 21:00\"; else now");
}

}  // namespace setwell::cli
