#include "cli/commands/menu.hpp"
#include "cli/render/json.hpp"

/// Commands that change nothing.
namespace setwell::cli {
namespace {

int run_status(Session& session) {
  const auto given = session.answer_to<api::StatusAnswer>("status", api::NoParams{});
  if (!given) return session.fail(given.error());
  session.show(given->object, to_text(given->answer, session.look()));
  return given->answer.ok ? kDone : kRefused;
}

int run_describe(Session& session) {
  const auto given = session.call("describe", {});
  if (!given) return session.fail(given.error());
  return session.show(*given, methods_text(*given, session.look().colour));
}

void add_air(Menu& menu) {
  auto& command = add_command(menu.app, "air", "the air of each zone: now, the last day, what comes",
                              "setwell air bench");
  auto params = std::make_shared<api::AirParams>();
  command.add_option("ZONE", params->zone, "this zone alone");
  asks<api::AirAnswer>(menu, command, "air", params);
}

void add_notices(Menu& menu) {
  auto& command =
      add_command(menu.app, "notices", "open messages and their delivery", "setwell notices --all");
  auto params = std::make_shared<api::NoticesParams>();
  command.add_flag("--all", params->all, "those seen and over too");
  asks<api::NoticesAnswer>(menu, command, "notices", params);
}

}  // namespace

void add_asking(Menu& menu) {
  const auto none = std::make_shared<api::NoParams>();
  asks<api::NowAnswer>(
      menu, add_command(menu.app, "now", "air, pieces in progress, batches, open notices", "setwell"), "now",
      none);
  asks<api::BatchesAnswer>(
      menu, add_command(menu.app, "batches", "the mixes, newest first", "setwell batches"), "batches", none);
  asks<api::SensorsAnswer>(
      menu,
      add_command(menu.app, "sensors", "every channel: last message, refused by reason", "setwell sensors"),
      "sensors", none);
  add_air(menu);
  add_notices(menu);
  does(
      menu,
      add_command(menu.app, "status", "every part of the daemon, and the next thing to do", "setwell status"),
      run_status);
  does(menu, add_command(menu.app, "describe", "every method of the wire", "setwell describe --json"),
       run_describe);
}

}  // namespace setwell::cli
