#include "cli/commands/menu.hpp"

/// Pieces: begun, shown, moved, gone; and what was said about them.
namespace setwell::cli {
namespace {

constexpr auto kPieces = "ids, ranges as fern-01..06, unique prefixes";

void add_piece_new(Menu& menu, CLI::App& group) {
  auto& command =
      add_command(group, "new", "begins pieces",
                  "setwell piece new fern-01..06 --form tumbler-20 --schedule glitter --due 2031-04-02");
  auto params = std::make_shared<api::PieceNewParams>();
  command.add_option("ID", params->pieces, "ids of your own, or ranges as fern-01..06")->required();
  command.add_option("--form", params->form, "what kind of body, from the settings")->required();
  command.add_option("--schedule", params->schedule, "its finishing schedule");
  command.add_option("--due", params->due, "YYYY-MM-DD");
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "piece.new", params);
}

void add_one_piece(Menu& menu, CLI::App& command, const std::string& method) {
  auto params = std::make_shared<api::PieceParams>();
  command.add_option("PIECE", params->piece, "an id or a unique prefix")->required();
  if (method == "entries") return asks<api::EntriesAnswer>(menu, command, method, params);
  asks<api::PieceShowAnswer>(menu, command, method, params);
}

void add_piece_list(Menu& menu) {
  auto& command = add_command(menu.app, "pieces", "the pieces in progress", "setwell pieces --all");
  auto params = std::make_shared<api::PiecesParams>();
  command.add_flag("--all", params->all, "those shipped and scrapped too");
  asks<api::PiecesAnswer>(menu, command, "pieces", params);
}

void add_end(Menu& menu, const std::string& name, const std::string& what, const std::string& example) {
  auto& command = add_command(menu.app, name, what, example);
  auto params = std::make_shared<api::EndParams>();
  command.add_option("PIECE", params->pieces, kPieces)->required();
  command.add_flag("--anyway", params->anyway, "though a coat is short of packing");
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, name, params);
}

void add_move(Menu& menu) {
  auto& command =
      add_command(menu.app, "move", "pieces now hang or stand in another zone, or at one of its places",
                  "setwell move fern-07 bench/hook-2 --at 20m");
  auto params = std::make_shared<api::MoveParams>();
  // A list takes all there is, so the zone is cut off its end afterwards.
  auto words = std::make_shared<std::vector<std::string>>();
  command
      .add_option("PIECE", *words, "pieces (ids, ranges, prefixes), then the zone they go to, or zone/place")
      ->type_name("PIECE... ZONE[/PLACE]")
      ->required()
      ->expected(2, CLI::detail::expected_max_vector_size);
  add_at(command, params->at);
  does(menu, command, [params, words](Session& session) {
    auto typed = *params;
    typed.pieces.assign(words->begin(), words->end() - 1);
    typed.zone = words->back();
    return session.ask<api::LoggedAnswer>("move", typed);
  });
}

void add_amend(Menu& menu) {
  auto& command = add_command(menu.app, "amend", "puts an entry right: its time, or the lamp's minutes",
                              "setwell amend 41 --at \"yesterday 21:00\"");
  auto params = std::make_shared<api::AmendParams>();
  command.add_option("N", params->entry, "the entry's number, as `setwell entries PIECE` shows it")
      ->required();
  auto& right = *command.add_option_group("what", "what is put right");
  right.add_option("--at", params->at, "the right time");
  add_number(right, "--lamp", params->lamp_min, "minutes under the lamp in all, of a light-cured coat");
  right.require_option(1, 2);
  asks<api::LoggedAnswer>(menu, command, "amend", params);
}

}  // namespace

void add_pieces(Menu& menu) {
  auto& group = add_command(menu.app, "piece", "begins a piece or shows one", "setwell piece show fern-07");
  group.require_subcommand(1);
  add_piece_new(menu, group);
  add_one_piece(
      menu, add_command(group, "show", "one piece with every coat and entry", "setwell piece show fern-07"),
      "piece.show");
  add_piece_list(menu);
  add_end(menu, "ship", "pieces leave the workshop", "setwell ship fern-01..06");
  add_end(menu, "scrap", "pieces are given up", "setwell scrap fern-04");
  add_move(menu);
  add_one_piece(
      menu, add_command(menu.app, "entries", "all that was said about a piece", "setwell entries fern-07"),
      "entries");
  add_amend(menu);
  auto& undo = add_command(menu.app, "undo", "takes an entry back", "setwell undo 41");
  auto undone = std::make_shared<api::UndoParams>();
  undo.add_option("N", undone->entry, "the entry's number")->required();
  asks<api::LoggedAnswer>(menu, undo, "undo", undone);
  auto& seen = add_command(menu.app, "seen", "a notice was read", "setwell seen 7");
  auto read = std::make_shared<api::SeenParams>();
  seen.add_option("N", read->notice, "the notice's number")->required();
  asks<api::LoggedAnswer>(menu, seen, "seen", read);
}

}  // namespace setwell::cli
