#include <chrono>
#include <thread>

#include "cli/commands/menu.hpp"
#include "cli/render/air_page.hpp"
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

int run_air(Session& session, const api::AirParams& params, const std::string& html) {
  const auto given = session.answer_to<api::AirAnswer>("air", params);
  if (!given) return session.fail(given.error());
  if (html.empty()) return session.show(given->object, to_text(given->answer, session.look()));
  const int done = session.write_page(html, air_page(given->answer, session.look()));
  return done != kDone ? done : session.show(given->object, "Written: " + html + "\n");
}

void add_air(Menu& menu) {
  auto& command = add_command(menu.app, "air", "the air of each zone: now, the last day, what comes",
                              "setwell air bench");
  auto params = std::make_shared<api::AirParams>();
  auto html = std::make_shared<std::string>();
  command.add_option("ZONE", params->zone, "this zone alone");
  command.add_option("--html", *html, "writes a page with the charts");
  does(menu, command, [params, html](Session& session) { return run_air(session, *params, *html); });
}

/// A courier may take half a minute to find out; its own limit is in the settings.
constexpr std::chrono::minutes kTestPatience{6};
constexpr std::chrono::milliseconds kTestLook{200};

int run_notice_test(Session& session, const std::string& route) {
  api::NoticeTestParams params{route, std::nullopt};
  const auto end = std::chrono::steady_clock::now() + kTestPatience;
  while (true) {
    const auto given = session.answer_to<api::NoticeTestAnswer>("notices.test", params);
    if (!given) return session.fail(given.error());
    const auto& answer = given->answer;
    const bool settled = answer.state != "waiting" || answer.attempts > 0;
    if (settled || std::chrono::steady_clock::now() > end) {
      session.show(given->object, to_text(answer, session.look()));
      return answer.state == "sent" ? kDone : kRefused;
    }
    params.id = answer.id;
    std::this_thread::sleep_for(kTestLook);
  }
}

void add_notices(Menu& menu) {
  auto& command =
      add_command(menu.app, "notices", "open messages and their delivery", "setwell notices --all");
  auto params = std::make_shared<api::NoticesParams>();
  command.add_flag("--all", params->all, "those seen and over too");
  auto route = std::make_shared<std::string>();
  command.add_option("--test", *route, "send a test message by this route and tell what became of it");
  does(menu, command, [params, route](Session& session) {
    return route->empty() ? session.ask<api::NoticesAnswer>("notices", *params)
                          : run_notice_test(session, *route);
  });
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
