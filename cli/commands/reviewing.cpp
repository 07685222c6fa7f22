#include <filesystem>
#include <fstream>

#include "cli/commands/account_files.hpp"
#include "cli/commands/menu.hpp"
#include "cli/render/review_page.hpp"

/// When a coat went wrong, and the records out.
namespace setwell::cli {
namespace {

struct ReviewWish {
  std::optional<std::string> piece;
  std::optional<int> coat;
  std::optional<std::string> html;
  std::optional<std::string> from;
};

void add_defect(Menu& menu) {
  auto& command =
      add_command(menu.app, "defect", "logs what went wrong with a coat; the photo stays where it is",
                  "setwell defect greasy cloudy fern-07 --coat 2 --where \"at the handle\"");
  auto params = std::make_shared<api::DefectParams>();
  auto words = std::make_shared<std::vector<std::string>>();
  command
      .add_option("SIGN", *words,
                  "one or more of soft sticky-spots never-dried greasy cloudy craters bubbles dimples dust "
                  "imprint wavy "
                  "peeling off-the-body wrinkled yellow sags decal-lift lumps rings colour-bled "
                  "soft-when-hot, then the piece")
      ->required();
  add_number(command, "--coat", params->coat, "its number; the newest if left out");
  command.add_option("--where", params->where, "where on the piece");
  command.add_option("--photo", params->photo, "a picture's path");
  command
      .add_option("--saw", params->saw,
                  "what else was noticed, as washes-off or not-washes-off (setwell-case(5))")
      ->expected(1)
      ->take_all();
  add_at(command, params->at);
  does(menu, command, [params, words](Session& session) {
    if (words->size() < 2)
      return session.fail(
          {quantity::ErrorKind::usage, "what is seen, and on which piece? setwell defect SIGN... PIECE"});
    params->piece = words->back();
    params->signs.assign(words->begin(), words->end() - 1);
    return session.ask<api::LoggedAnswer>("defect", *params);
  });
}

int show_review(Session& session, const Object& object, const api::ReviewAnswer& answer,
                const ReviewWish& wish) {
  if (!wish.html) return session.show(object, to_text(answer, session.look()));
  const int done = session.write_page(*wish.html, review_page(answer, session.look()));
  if (done != kDone) return done;
  return session.show(object, answer.summary + "\nWritten: " + *wish.html + "\n");
}

int run_review(Session& session, const ReviewWish& wish) {
  if (wish.from) {
    const auto answer = review_file(*wish.from, wish.piece, wish.coat);
    if (!answer) return session.fail(answer.error());
    return show_review(session, api::to_object(*answer), *answer, wish);
  }
  if (!wish.piece)
    return session.fail({quantity::ErrorKind::usage, "of which piece? setwell review PIECE, or --from FILE"});
  const auto given = session.answer_to<api::ReviewAnswer>(
      "review", api::ReviewParams{*wish.piece, wish.coat, {}}, kLongPatience);
  if (!given) return session.fail(given.error());
  return show_review(session, given->object, given->answer, wish);
}

void add_review(Menu& menu) {
  auto& command =
      add_command(menu.app, "review", "looks back over a coat that went wrong: facts, then causes",
                  "setwell review fern-07 --coat 2 --html fern-07.html");
  auto wish = std::make_shared<ReviewWish>();
  command.add_option("PIECE", wish->piece, "an id or a unique prefix");
  add_number(command, "--coat", wish->coat, "its number; else that of the newest defect, else the newest");
  command.add_option("--html", wish->html, "writes a page that prints on one sheet");
  command.add_option("--from", wish->from,
                     "an account in a file (setwell-case(5)) instead of the daemon's records");
  does(menu, command, [wish](Session& session) { return run_review(session, *wish); });
}

void add_trace(Menu& menu) {
  auto& command =
      add_command(menu.app, "trace", "every coat that shares a batch, a lot or a sheet, and how it came out",
                  "setwell trace --lot 4711");
  auto params = std::make_shared<api::TraceParams>();
  command.add_option("--batch", params->batch, "a batch");
  command.add_option("--lot", params->lot, "the manufacturer's number");
  command.add_option("--sheet", params->sheet, "a material");
  asks<api::TraceAnswer>(menu, command, "trace", params);
}

/// One table as a file, page after page. Error: the daemon's, or that the file cannot be written.
quantity::Result<std::size_t> write_table(Session& session, const std::string& table,
                                          const std::filesystem::path& file) {
  std::ofstream out(file, std::ios::binary | std::ios::trunc);
  std::size_t rows = 0;
  api::ExportParams params{table, 0};
  for (bool first = true;; first = false) {
    const auto page = session.answer_to<api::ExportAnswer>("export", params, kLongPatience);
    if (!page) return page.error();
    if (first) out << csv_line(page->answer.columns);
    out << export_csv(page->answer);
    rows += page->answer.rows.size();
    if (!page->answer.more_after) break;
    if (*page->answer.more_after <= params.after)
      return quantity::Error{quantity::ErrorKind::unreachable,
                             "setwelld gave one page twice; bring both to one version"};
    params.after = *page->answer.more_after;
  }
  out.close();
  if (!out) return quantity::refused(file.string() + " cannot be written");
  return rows;
}

int run_export(Session& session, const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return session.fail(quantity::refused(folder.string() + " cannot be made: " + error.message()));
  const auto tables = session.answer_to<api::ExportAnswer>("export", api::ExportParams{"", 0});
  if (!tables) return session.fail(tables.error());
  Object counts;
  std::string text;
  for (const auto& table : tables->answer.tables) {
    const auto rows = write_table(session, table, folder / (table + ".csv"));
    if (!rows) return session.fail(rows.error());
    counts[table] = *rows;
    text += (folder / (table + ".csv")).string() + "  " + std::to_string(*rows) + " rows\n";
  }
  return session.show(Object{{"version", 1}, {"folder", folder.string()}, {"rows", counts}}, text);
}

void add_export(Menu& menu) {
  auto& command = add_command(menu.app, "export",
                              "writes all records as CSV files, one per table (setwell(7) names the columns)",
                              "setwell export records-2031");
  auto folder = std::make_shared<std::string>();
  command.add_option("DIR", *folder, "a folder; it is made if need be, files of the same names are replaced")
      ->required();
  does(menu, command, [folder](Session& session) { return run_export(session, *folder); });
}

}  // namespace

void add_reviewing(Menu& menu) {
  add_defect(menu);
  add_review(menu);
  add_trace(menu);
  add_export(menu);
}

}  // namespace setwell::cli
