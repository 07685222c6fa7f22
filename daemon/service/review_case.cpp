#include "daemon/service/review_case.hpp"

#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

namespace setwell::service {

using quantity::Instant;

namespace {

/// An envelope over a silence looks back two weeks.
constexpr auto kLookBack = std::chrono::days(15);

/// Air from before what the clocks in memory need is fetched, and stays.
void reach_back(Workshop& workshop, Instant since) {
  if (since >= workshop.air_since) return;
  write(workshop, [&] {
    workshop.air_since = since;
    workshop.sensors.load(*workshop.settings, workshop.ledger, workshop.zones, workshop.air_since,
                          workshop.book.workbook().air_readings, workshop.told_time);
  });
}

void add_material(Workshop& workshop, core::CaseFile& file, quantity::EditionId edition) {
  if (file.materials.contains(edition)) return;
  if (auto material = workshop.shelf.edition(edition, workshop.ledger))
    file.materials[edition] = std::move(material);
}

void add_materials(Workshop& workshop, core::CaseFile& file) {
  for (const auto& piece : file.workbook.pieces) {
    for (const auto& coat : piece.coats)
      add_material(workshop, file, coat.made.edition);
    for (const auto& step : piece.steps) {
      if (step.body.edition) add_material(workshop, file, *step.body.edition);
    }
  }
  for (const auto& batch : file.workbook.batches)
    add_material(workshop, file, batch.made.edition);
}

}  // namespace

core::CaseFile case_of(Workshop& workshop, Instant since, Instant now) {
  reach_back(workshop, since - kLookBack);
  core::CaseFile file;
  file.workbook = workshop.book.workbook();
  add_materials(workshop, file);
  file.air = air_of(workshop.zones);
  for (const auto& form : workshop.settings->forms)
    file.forms[form.id] = core::CaseForm{form.area, form.lag};
  file.scale = workshop.settings->workshop.scale;
  file.strictness = {workshop.settings->workshop.k, workshop.settings->workshop.scatter};
  file.display = display_of(*workshop.settings);
  file.now = now;
  return file;
}

}  // namespace setwell::service
