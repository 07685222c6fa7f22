#include <algorithm>

#include <fmt/format.h>

#include "cli/commands/menu.hpp"
#include "cli/commands/questions.hpp"

/// Work at the bench, logged.
namespace setwell::cli {
namespace {

constexpr auto kPieces = "ids, ranges as fern-01..06, unique prefixes";

/// Several batches are open: which one is it?
Session::Settled<api::CoatParams> settle_batch(Session& session, api::CoatParams params) {
  if (params.what != "@") return {};
  const auto batches = session.answer_to<api::BatchesAnswer>("batches", api::NoParams{});
  if (!batches) return {};
  std::vector<std::string> open;
  std::vector<std::string> choices;
  for (const auto& batch : batches->answer.batches) {
    if (!batch.open) continue;
    open.push_back(batch.batch);
    choices.push_back(fmt::format("{}  {}, {:g} g, in {}", batch.batch, batch.sheet,
                                  batch.part_a_g + batch.part_b_g, batch.zone));
  }
  if (open.size() < 2) return {};
  const auto chosen = choose(session.answers(), session.out(), "Which batch is it poured from?", choices);
  if (!chosen) return {true, std::nullopt};
  params.what = open[*chosen];
  return {true, std::move(params)};
}

/// The refusal names the option that answers it.
Session::Settled<api::StepParams> settle_washing(Session& session, api::StepParams params,
                                                 const quantity::Error& refusal) {
  if (params.unwashed || refusal.detail.find("--unwashed") == std::string::npos) return {};
  session.print(refusal.detail + "\n");
  if (!confirm(session.answers(), session.out(), "Log it as sanded without washing?"))
    return {true, std::nullopt};
  params.unwashed = true;
  return {true, std::move(params)};
}

void add_coat(Menu& menu) {
  auto& command = add_command(menu.app, "coat", "logs a coat and says when it opens and closes",
                              "setwell coat slow-epoxy fern-01..06 --zone rack --at 20m");
  auto params = std::make_shared<api::CoatParams>();
  command.add_option("WHAT", params->what, "a sheet, a batch, or @ for the only open batch")->required();
  command.add_option("PIECE", params->pieces, std::string(kPieces) + "; grams after =, as fern-07=12.5")
      ->required();
  command.add_option("--zone", params->zone, "where it is coated; else where the piece is");
  add_at(command, params->at);
  add_number(command, "--film", params->film_um,
             "film of the whole coat, all passes together, as the sheet measures it, µm");
  add_number(command, "--passes", params->passes,
             "light passes within the coat: sure times count from the last, earliest from the first");
  command.add_option("--load", params->load, "flake, glitter or pigment");
  command.add_option("--piece-from", params->piece_from, "the piece came from a colder place, as 8C");
  command.add_option("--resin-temp", params->resin_temperature, "of the mix, as 22C");
  command.add_option("--lot", params->lot, "the manufacturer's number");
  add_number(command, "--lamp", params->lamp_min, "minutes under the lamp, light-cured only");
  auto dry_run = std::make_shared<bool>(false);
  command.add_flag("--dry-run", *dry_run,
                   "logs nothing: go or wait, and the best start of the next 48 h; --at may lie ahead");
  does(menu, command, [params, dry_run](Session& session) {
    const auto settle = [&](const quantity::Error&) { return settle_batch(session, *params); };
    return *dry_run ? session.ask_person<api::DryRunAnswer>("coat.dry_run", *params, settle)
                    : session.ask_person<api::LoggedAnswer>("coat", *params, settle);
  });
}

void add_step(Menu& menu) {
  auto& command = add_command(menu.app, "step", "logs bench work that is no coat",
                              "setwell step washed fern-07 --with water");
  auto params = std::make_shared<api::StepParams>();
  command
      .add_option("STEP", params->step,
                  "washed wiped sanded polished masked unmasked decal flaked torched noted")
      ->required();
  command.add_option("PIECE", params->pieces, kPieces)->required();
  command.add_option("--with", params->with, "water or alcohol");
  command.add_option("--kind", params->kind, "of a decal: vinyl or water-slide");
  command.add_option("--sheet", params->sheet, "a material of the step with a clock of its own");
  command.add_option("--text", params->text, "a note");
  command.add_flag("--unwashed", params->unwashed, "sanded though it was not washed");
  add_at(command, params->at);
  does(menu, command, [params](Session& session) {
    return session.ask_person<api::LoggedAnswer>("step", *params, [&](const quantity::Error& refusal) {
      return settle_washing(session, *params, refusal);
    });
  });
}

void add_touch(Menu& menu) {
  auto& command = add_command(menu.app, "touch", "logs a touch test", "setwell touch tacky fern-07");
  auto params = std::make_shared<api::TouchParams>();
  command
      .add_option("WORD", params->touch,
                  "gloved finger: wet strings tacky firm hard; sanding trial: gums powders")
      ->required();
  command.add_option("PIECE", params->pieces, std::string(kPieces) + "; or one batch for its witness")
      ->required();
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "touch", params);
}

void add_mixed(Menu& menu) {
  auto& command = add_command(menu.app, "mixed", "logs a mix and starts its pot life",
                              "setwell mixed slow-epoxy 60 30 --zone bench --stirred 3");
  auto params = std::make_shared<api::MixedParams>();
  command.add_option("SHEET", params->sheet, "the two-part material")->required();
  add_number(command, "A", params->part_a_g, "grams of part A")->required();
  add_number(command, "B", params->part_b_g, "grams of part B")->required();
  command.add_option("--zone", params->zone, "where it stands");
  command.add_option("--resin-temp", params->resin_temperature, "of the mix, as 22C");
  command.add_option("--pot", params->pot, "cup, tray or insulated");
  command.add_option("--lot-a", params->lot_a, "the manufacturer's number of A");
  command.add_option("--lot-b", params->lot_b, "the manufacturer's number of B");
  add_number(command, "--stirred", params->stirred_min, "minutes");
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "mixed", params);
}

void add_opened(Menu& menu) {
  auto& command = add_command(menu.app, "opened", "a can or bottle was opened",
                              "setwell opened slow-epoxy --part b --lot 4711");
  auto params = std::make_shared<api::OpenedParams>();
  command.add_option("SHEET", params->sheet, "the material")->required();
  command.add_option("--part", params->part, "a or b");
  command.add_option("--lot", params->lot, "the manufacturer's number")->required();
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "opened", params);
}

void add_rotator(Menu& menu) {
  auto& command = add_command(menu.app, "rotator", "a rotator stopped or runs again",
                              "setwell rotator rack stopped --at 10m");
  auto params = std::make_shared<api::RotatorParams>();
  command.add_option("ZONE", params->zone, "the rotator's zone")->required();
  command.add_option("STATE", params->state, "stopped or running")->required();
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "rotator", params);
}

void add_read(Menu& menu) {
  auto& command =
      add_command(menu.app, "read", "logs a reading taken by hand", "setwell read bench --air 17C --rh 58");
  auto params = std::make_shared<api::ReadParams>();
  command.add_option("WHAT", params->what, "a zone, or a piece for its surface")->required();
  command.add_option("--air", params->air, "of a zone, as 17C or 63F");
  add_number(command, "--rh", params->humidity_pct, "of a zone, %");
  command.add_option("--surface", params->surface, "of a piece, as 14C");
  add_number(command, "--error-k", params->error_k, "± K; 1 unless stated");
  add_number(command, "--error-rh", params->error_pct, "± %; 8 unless stated");
  add_at(command, params->at);
  asks<api::LoggedAnswer>(menu, command, "read", params);
}

}  // namespace

void add_logging(Menu& menu) {
  add_coat(menu);
  add_step(menu);
  add_touch(menu);
  add_mixed(menu);
  add_opened(menu);
  add_rotator(menu);
  add_read(menu);
}

}  // namespace setwell::cli
