#include "cli/commands/program.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <ostream>

#include "cli/commands/menu.hpp"

namespace setwell::cli {
namespace {

void add_wishes(CLI::App& app, Wishes& wishes) {
  app.add_flag("--json", wishes.json, "one object on one line, for programs");
  app.add_option("--socket", wishes.socket, "where the daemon listens");
  app.add_flag("--no-colour", wishes.no_colour, "plain text (as does NO_COLOR)");
  app.set_version_flag("--version", std::string("setwell ") + SETWELL_VERSION);
}

/// `setwell piece new`, as far as it was understood.
std::string command_typed(const CLI::App& app) {
  std::string name = app.get_name();
  const auto inner = app.get_subcommands();
  return inner.empty() ? name : name + " " + command_typed(*inner.front());
}

std::string first_line(std::string text) {
  text.erase(std::min(text.find('\n'), text.size()));
  while (text.ends_with('.') || text.ends_with(' '))
    text.pop_back();
  return text;
}

/// The error object is wanted even where the arguments could not be read to their end.
Wishes wishes_of(const std::vector<std::string>& arguments, Wishes wishes) {
  wishes.json = wishes.json || std::find(arguments.begin(), arguments.end(), "--json") != arguments.end();
  return wishes;
}

int not_parsed(const CLI::App& app, const CLI::ParseError& error, const World& world, const Wishes& wishes) {
  if (error.get_exit_code() == 0) return app.exit(error, world.out, world.err);
  const auto sentence = first_line(error.what()) + "; `" + command_typed(app) + " --help` shows how it goes";
  return Session(world, wishes).fail({quantity::ErrorKind::usage, sentence});
}

}  // namespace

std::string not_a_number(const std::string& text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc() && end == text.data() + text.size() && std::isfinite(value)) return {};
  return text + " is no number";
}

int run(std::vector<std::string> arguments, const World& world) {
  Wishes wishes;
  CLI::App app("Knows what every coat in the workshop needs next, and when. Alone it shows `setwell now`.",
               "setwell");
  app.fallthrough();
  app.require_subcommand(0, 1);
  app.footer(
      "Example:\n  setwell coat slow-epoxy fern-01..06 --at 20m\nExit codes: 0 done, 1 refused, 2 usage, "
      "3 daemon unreachable, 4 not found, 5 invalid.");
  add_wishes(app, wishes);
  Menu menu{app, [](Session& session) { return session.ask<api::NowAnswer>("now", api::NoParams{}); }};
  add_asking(menu);
  add_pieces(menu);
  add_logging(menu);
  add_reviewing(menu);
  add_records(menu);
  add_materials(menu);
  try {
    // The parser takes its list from the back.
    app.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
  } catch (const CLI::ParseError& error) {
    return not_parsed(app, error, world, wishes_of(arguments, wishes));
  }
  Session session(world, wishes);
  return menu.chosen(session);
}

}  // namespace setwell::cli
