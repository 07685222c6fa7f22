#include "cli/commands/check_sheet.hpp"
#include "cli/commands/menu.hpp"

/// Sheets and schedules.
namespace setwell::cli {
namespace {

int run_check(Session& session, const std::string& file) {
  const auto check = check_sheet(file);
  if (!check) return session.fail(check.error());
  session.show(api::to_object(*check), to_text(*check));
  return check->ok ? kDone : kInvalid;
}

void add_show(Menu& menu, CLI::App& group) {
  auto& command = add_command(group, "show", "what a sheet states, and where it stands in the datasheet",
                              "setwell sheet show slow-epoxy");
  auto params = std::make_shared<api::SheetParams>();
  command.add_option("SHEET", params->sheet, "its id or a unique prefix")->required();
  asks<api::SheetShowAnswer>(menu, command, "sheet.show", params);
}

void add_check(Menu& menu, CLI::App& group) {
  auto& command =
      add_command(group, "check", "what is missing, contradictory or odd in a sheet's file; asks no daemon",
                  "setwell sheet check sheets/slow-epoxy.toml");
  auto file = std::make_shared<std::string>();
  command.add_option("FILE", *file, "a sheet in TOML")->required();
  does(menu, command, [file](Session& session) { return run_check(session, *file); });
}

}  // namespace

void add_materials(Menu& menu) {
  const auto none = std::make_shared<api::NoParams>();
  asks<api::SheetsAnswer>(menu,
                          add_command(menu.app, "sheets", "the materials and their faults", "setwell sheets"),
                          "sheets", none);
  auto& group = add_command(menu.app, "sheet", "shows or checks a sheet", "setwell sheet show slow-epoxy");
  group.require_subcommand(1);
  add_show(menu, group);
  add_check(menu, group);
  asks<api::SchedulesAnswer>(
      menu, add_command(menu.app, "schedules", "the finishing schedules", "setwell schedules"), "schedules",
      none);
}

}  // namespace setwell::cli
