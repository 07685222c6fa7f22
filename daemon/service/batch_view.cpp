#include "daemon/service/batch_view.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/mix_check.hpp"
#include "daemon/core/pot_life.hpp"
#include "daemon/service/piece_view.hpp"

namespace setwell::service {

using core::Batch;
using quantity::Instant;

namespace {

/// A mix whose pot life nobody states is offered as "the batch" this long.
constexpr auto kUnknownPotLife = std::chrono::hours(12);
/// Batches older than this are past use whatever their sheet: their clocks are not run any more.
constexpr auto kBatchOldest = std::chrono::hours(72);

std::string_view ratio_word(core::RatioFinding finding) {
  switch (finding) {
    case core::RatioFinding::holds:
      return "ok";
    case core::RatioFinding::off:
      return "off";
    case core::RatioFinding::cannot_tell:
      return "cannot-tell";
    case core::RatioFinding::not_stated:
      return "unstated";
  }
  return "unstated";
}

std::optional<core::MixCheck> mix_check(Workshop& workshop, const Batch& batch) {
  const auto material = workshop.shelf.edition(batch.made.edition, workshop.ledger);
  if (!material || !material->mix) return std::nullopt;
  return core::check_mix(*material->mix, batch.made.part_a, batch.made.part_b,
                         workshop.settings->workshop.scale);
}

bool is_open(Workshop& workshop, const Batch& batch, Instant now) {
  if (batch.mixed - batch.error > now) return false;
  const auto outlook = batch_outlook(workshop, batch, now);
  return outlook ? outlook->progress.fast < 1 : now - batch.mixed < kUnknownPotLife;
}

}  // namespace

std::optional<core::BatchOutlook> batch_outlook(Workshop& workshop, const Batch& batch, Instant now) {
  if (now - batch.mixed > kBatchOldest) return std::nullopt;
  const auto material = workshop.shelf.edition(batch.made.edition, workshop.ledger);
  if (!material) return std::nullopt;
  const auto zone = workshop.zones.find(batch.made.zone);
  const auto* air = zone == workshop.zones.end() ? nullptr : &zone->second.history();
  return core::batch_outlook(batch, *material, air, workshop.settings->workshop.k, now);
}

std::vector<const Batch*> open_batches(Workshop& workshop, Instant now) {
  std::vector<const Batch*> open;
  const auto& batches = workshop.book.workbook().batches;
  for (auto batch = batches.rbegin(); batch != batches.rend(); ++batch) {
    if (now - batch->mixed < kBatchOldest && is_open(workshop, *batch, now)) open.push_back(&*batch);
  }
  return open;
}

api::BatchNow batch_now(Workshop& workshop, const Batch& batch, Instant now) {
  api::BatchNow shown;
  shown.batch = batch.made.batch.text();
  shown.sheet = batch.made.sheet.text();
  shown.zone = batch.made.zone.text();
  shown.mixed = api::time_text(batch.mixed, workshop.settings->workshop.time_zone);
  shown.part_a_g = batch.made.part_a.value();
  shown.part_b_g = batch.made.part_b.value();
  shown.open = is_open(workshop, batch, now);
  const auto check = mix_check(workshop, batch);
  shown.ratio = ratio_word(check ? check->finding : core::RatioFinding::not_stated);
  if (check && check->finding != core::RatioFinding::holds) shown.remark = core::sentence(*check);
  if (const auto outlook = batch_outlook(workshop, batch, now)) {
    const auto left = outlook->left_s();
    shown.left_s = {left.slow, left.expected, left.fast};
  }
  return shown;
}

std::vector<std::string> mixed_remarks(Workshop& workshop, const Batch& batch, Instant now) {
  std::vector<std::string> remarks;
  const auto display = display_of(*workshop.settings);
  std::string lasts = "its pot life cannot be told here: follow the datasheet";
  if (const auto outlook = batch_outlook(workshop, batch, now); outlook && outlook->over.fast) {
    lasts = "use it up before " + core::moment(*outlook->over.fast, now, display);
    if (outlook->told_at) lasts += "; a notice comes " + core::moment(*outlook->told_at, now, display);
  }
  remarks.push_back(fmt::format("Batch {}: {}.", batch.made.batch.text(), lasts));
  if (const auto check = mix_check(workshop, batch)) remarks.push_back(core::sentence(*check));
  const auto material = workshop.shelf.edition(batch.made.edition, workshop.ledger);
  if (material && material->mix && material->mix->induction) {
    remarks.push_back(fmt::format("Let it stand {:g} min before use.", material->mix->induction->count()));
  }
  const auto mass = quantity::Grams(batch.made.part_a.value() + batch.made.part_b.value());
  if (const auto caution = core::pot_caution(mass, batch.made.pot); !caution.empty()) {
    remarks.emplace_back(caution);
  }
  return remarks;
}

std::vector<std::string> pot_life_remarks(Workshop& workshop, const Batch& batch, Instant from, Instant to,
                                          Instant now) {
  std::vector<std::string> remarks;
  if (from < batch.mixed) {
    remarks.push_back(fmt::format("{} was mixed {}, after this coat; `setwell amend` puts a time right",
                                  batch.made.batch.text(),
                                  core::moment(batch.mixed, now, display_of(*workshop.settings))));
  }
  const auto outlook = batch_outlook(workshop, batch, now);
  if (outlook && outlook->over.fast && to > *outlook->over.fast) {
    remarks.push_back(fmt::format("{} was past its pot life {}: the coat may level badly or stay soft",
                                  batch.made.batch.text(),
                                  core::moment(*outlook->over.fast, now, display_of(*workshop.settings))));
  }
  const auto material = workshop.shelf.edition(batch.made.edition, workshop.ledger);
  if (material && material->mix && material->mix->induction &&
      from - batch.mixed < std::chrono::round<quantity::Span>(*material->mix->induction)) {
    remarks.push_back(fmt::format("The sheet asks to let it stand {:g} min after mixing",
                                  material->mix->induction->count()));
  }
  return remarks;
}

}  // namespace setwell::service
