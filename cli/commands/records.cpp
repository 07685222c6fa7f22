#include <filesystem>

#include "cli/commands/menu.hpp"

/// The records out of the daemon.
namespace setwell::cli {
namespace {

constexpr std::string_view kCsvHead = "time,temperature_c,humidity_pct\n";

/// Asks page after page and hands each on. Error: the daemon's, or a page that leads nowhere.
quantity::Result<api::HistoryAnswer> all_pages(Session& session, api::HistoryParams params,
                                               const std::function<void(api::HistoryAnswer&)>& take) {
  while (true) {
    auto page = session.answer_to<api::HistoryAnswer>("history", params);
    if (!page) return page.error();
    auto& answer = page->answer;
    const auto more = answer.more_after;
    take(answer);
    if (!more) return answer;
    if (more == params.after) {
      return quantity::Error{quantity::ErrorKind::unreachable,
                             "setwelld gave one page of the history twice; bring both to one version"};
    }
    params.after = more;
  }
}

int run_csv(Session& session, const api::HistoryParams& params) {
  bool headed = false;
  const auto done = all_pages(session, params, [&](api::HistoryAnswer& page) {
    if (!headed) session.print(kCsvHead);
    headed = true;
    session.print(history_csv(page));
  });
  return done ? kDone : session.fail(done.error());
}

int run_history(Session& session, const api::HistoryParams& params) {
  std::vector<api::HistoryRow> rows;
  auto whole = all_pages(session, params, [&](api::HistoryAnswer& page) {
    rows.insert(rows.end(), page.rows.begin(), page.rows.end());
  });
  if (!whole) return session.fail(whole.error());
  whole->rows = std::move(rows);
  return session.show(api::to_object(*whole), to_text(*whole, session.look()));
}

void add_history(Menu& menu) {
  auto& command = add_command(menu.app, "history", "the recorded air of a zone",
                              "setwell history bench --from \"yesterday 00:00\" --csv");
  auto params = std::make_shared<api::HistoryParams>();
  auto csv = std::make_shared<bool>(false);
  command.add_option("ZONE", params->zone, "a zone of the settings")->required();
  command.add_option("--from", params->from, "a time; a day ago if left out");
  command.add_option("--to", params->to, "a time; now if left out");
  command.add_flag("--csv", *csv, "lines of time,temperature_c,humidity_pct");
  does(menu, command, [params, csv](Session& session) {
    return *csv && !session.json() ? run_csv(session, *params) : run_history(session, *params);
  });
}

void add_backup(Menu& menu) {
  auto& command =
      add_command(menu.app, "backup", "writes a checked copy of the records; the file must be new",
                  "setwell backup setwell-copy.db");
  auto file = std::make_shared<std::string>();
  command.add_option("FILE", *file, "where to")->required();
  does(menu, command, [file](Session& session) {
    // The daemon stands elsewhere, so it needs the whole path.
    std::error_code error;
    const auto whole = std::filesystem::absolute(*file, error).lexically_normal();
    if (error)
      return session.fail(quantity::invalid("the folder one stands in is gone: give the whole path"));
    return session.ask<api::BackupAnswer>("backup", api::BackupParams{whole.string()}, kLongPatience);
  });
}

}  // namespace

void add_records(Menu& menu) {
  add_history(menu);
  add_backup(menu);
}

}  // namespace setwell::cli
