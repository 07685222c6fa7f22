#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/review_words.hpp"
#include "daemon/core/touch_rules.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/piece_view.hpp"

/// Steps, touch tests, and readings by hand.
namespace setwell::service {

using core::Entry;
using quantity::Instant;
using quantity::invalid;
using quantity::refused;
using quantity::Result;

namespace {

/// How long back a torch asks for alcohol and fresh solvent.
constexpr auto kFlameLooksBack = std::chrono::hours(4);

constexpr std::string_view kFlameCaution =
    "Flame: keep it moving and away from anything wet. Let alcohol and solvent evaporate first, move open "
    "bottles "
    "and rags away, follow the product's datasheet and local rules, have an extinguisher at hand";

/// Every alcohol wipe and every coat still flashing off in a zone: what a flame must not meet.
std::vector<std::string> flame_hazards(Workshop& workshop, const quantity::ZoneId& zone, Instant at,
                                       Instant now) {
  std::vector<std::string> hazards;
  const auto display = display_of(*workshop.settings);
  const auto recent = [&](Instant moment) { return moment <= at && at - moment < kFlameLooksBack; };
  for (const auto& piece : workshop.book.workbook().pieces) {
    if (zone_of(piece, at) != zone) continue;
    for (const auto& step : piece.steps) {
      if (step.body.with == "alcohol" && recent(step.happened)) {
        hazards.push_back(fmt::format("{} was wiped with alcohol {}", piece.id.text(),
                                      core::moment(step.happened, now, display)));
      }
    }
    for (const auto& coat : piece.coats) {
      const auto* tracked = workshop.coats.find(coat.id);
      if (tracked == nullptr || !recent(coat.happened) || !gives_off_solvent(tracked->coat->material->family))
        continue;
      hazards.push_back(fmt::format("{} was coated with {} {}: solvent is flashing off", piece.id.text(),
                                    tracked->coat->material->name,
                                    core::moment(coat.happened, now, display)));
    }
  }
  return hazards;
}

std::vector<std::string> torch_cautions(Workshop& workshop, const std::vector<const core::Piece*>& pieces,
                                        Instant at, Instant now) {
  std::vector<std::string> cautions{std::string(kFlameCaution)};
  std::vector<quantity::ZoneId> asked;
  for (const auto* piece : pieces) {
    const auto zone = zone_of(*piece, at);
    if (!zone || std::find(asked.begin(), asked.end(), *zone) != asked.end()) continue;
    asked.push_back(*zone);
    for (auto& hazard : flame_hazards(workshop, *zone, at, now))
      cautions.push_back(std::move(hazard));
  }
  return cautions;
}

/// The question that `sanded` without `washed` raises on an amine epoxy.
std::optional<std::string> unwashed(Workshop& workshop, const core::Piece& piece, Instant now) {
  if (piece.coats.empty()) return std::nullopt;
  const auto view = view_of(workshop, piece, piece.coats.back(), now);
  if (!view || view->material->family != core::Family::epoxy) return std::nullopt;
  const auto since = piece.coats.back().happened;
  const bool washed = std::any_of(piece.steps.begin(), piece.steps.end(), [&](const auto& step) {
    return step.body.step == core::Step::washed && step.happened >= since;
  });
  if (washed) return std::nullopt;
  return fmt::format("{}: coat {} is an amine epoxy and no wash is logged since", piece.id.text(),
                     piece.coats.back().number);
}

Result<core::StepDone> step_done(const Workshop& workshop, const api::StepParams& params) {
  const auto step = core::step_from(params.step);
  if (!step) {
    return invalid(
        fmt::format("“{}” is no step; steps: washed wiped sanded polished masked unmasked decal flaked "
                    "torched noted",
                    params.step));
  }
  if (params.with && *params.with != "water" && *params.with != "alcohol") {
    return invalid(fmt::format("--with “{}” is not known; water or alcohol", *params.with));
  }
  const bool observed = *step == core::Step::noted && params.kind && core::noticed_from(*params.kind);
  if (params.kind && !observed && *params.kind != "vinyl" && *params.kind != "water-slide") {
    return invalid(fmt::format(
        "--kind “{}” is not known; vinyl or water-slide, and for noted an observation of setwell-case(5)",
        *params.kind));
  }
  if (*step == core::Step::noted && !params.text && !observed)
    return invalid("what is to be noted? Add --text \"…\"");
  core::StepDone done{*step, params.with, params.kind, std::nullopt, std::nullopt, params.text};
  if (params.sheet) {
    const auto sheet = workshop.shelf.find(*params.sheet);
    if (!sheet) return sheet.error();
    done.sheet = (*sheet)->material->id;
    done.edition = (*sheet)->edition;
  }
  return done;
}

Answered<api::LoggedAnswer> touch_witness(Workshop& workshop, core::Touch touch,
                                          const quantity::BatchId& batch, const core::TimePhrase& at,
                                          Instant now) {
  if (core::is_sanding_trial(touch)) return refused("a sanding trial is made on a piece, not on a witness");
  return store(workshop, {entry_of({}, now, at, core::TouchTested{touch, batch})}, now);
}

}  // namespace

Answered<api::LoggedAnswer> step(Workshop& workshop, const api::StepParams& params, Instant now) {
  const auto done = step_done(workshop, params);
  if (!done) return done.error();
  const auto pieces = pieces_named(workshop, params.pieces);
  if (!pieces) return pieces.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  std::vector<Entry> entries;
  for (const auto* piece : *pieces) {
    if (done->step == core::Step::sanded && !params.unwashed) {
      if (const auto question = unwashed(workshop, *piece, now)) {
        return refused(*question +
                       ". Was it washed with water? Log `setwell step washed` with its time first, or "
                       "add --unwashed when it was not");
      }
    }
    entries.push_back(entry_of(piece->id, now, *at, *done));
  }
  std::vector<std::string> cautions;
  if (done->step == core::Step::torched) cautions = torch_cautions(workshop, *pieces, at->to, now);
  if (done->step == core::Step::sanded) cautions.emplace_back(core::dust_caution());
  return store(workshop, std::move(entries), now, {}, std::move(cautions));
}

Answered<api::LoggedAnswer> touch(Workshop& workshop, const api::TouchParams& params, Instant now) {
  const auto word = core::touch_from(params.touch);
  if (!word) {
    return invalid(fmt::format(
        "“{}” is no touch; touches: wet strings tacky firm hard, sanding trial: gums powders", params.touch));
  }
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  if (params.pieces.size() == 1) {
    const quantity::BatchId batch(params.pieces.front());
    if (workshop.book.workbook().batch(batch) != nullptr) {
      return touch_witness(workshop, *word, batch, *at, now);
    }
  }
  const auto pieces = pieces_named(workshop, params.pieces);
  if (!pieces) return pieces.error();
  std::vector<Entry> entries;
  for (const auto* piece : *pieces) {
    if (piece->coats.empty()) return refused(fmt::format("{} has no coat to touch yet", piece->id.text()));
    const auto view = view_of(workshop, *piece, piece->coats.back(), now);
    if (view) {
      const auto allowed = core::may_be_logged(*word, *view->outlook);
      if (!allowed) {
        auto error = allowed.error();
        error.detail = piece->id.text() + ": " + error.detail;
        return error;
      }
    }
    entries.push_back(entry_of(piece->id, now, *at, core::TouchTested{*word, std::nullopt}));
  }
  std::vector<std::string> cautions;
  if (core::is_sanding_trial(*word)) cautions.emplace_back(core::dust_caution());
  return store(workshop, std::move(entries), now, {}, std::move(cautions));
}

Answered<api::LoggedAnswer> rotator(Workshop& workshop, const api::RotatorParams& params, Instant now) {
  if (params.state != "stopped" && params.state != "running") {
    return invalid(fmt::format("a rotator is stopped or running, not “{}”", params.state));
  }
  const auto zone = zone_named(workshop, params.zone, std::nullopt);
  if (!zone) return zone.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  return store(workshop, {entry_of({}, now, *at, core::RotatorChanged{*zone, params.state == "running"})},
               now);
}

Answered<api::LoggedAnswer> read(Workshop& workshop, const api::ReadParams& params, Instant now) {
  core::HandReading reading;
  const auto air = temperature_said(workshop, params.air, "--air");
  if (!air) return air.error();
  const auto surface = temperature_said(workshop, params.surface, "--surface");
  if (!surface) return surface.error();
  reading.air = *air;
  reading.surface = *surface;
  if (params.humidity_pct) {
    reading.humidity = quantity::RelativeHumidity::from_percent(*params.humidity_pct);
    if (!reading.humidity) return invalid("--rh takes per cent, 0 to 105");
  }
  if (params.error_k) {
    if (!(*params.error_k > 0 && *params.error_k <= 10))
      return invalid("--error-k takes K, more than 0, at most 10");
    reading.temperature_error = quantity::CelsiusDelta(*params.error_k);
  }
  if (params.error_pct) {
    if (!(*params.error_pct > 0 && *params.error_pct <= 50)) {
      return invalid("--error-rh takes per cent, more than 0, at most 50");
    }
    reading.humidity_error_percent = *params.error_pct;
  }
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  if (reading.surface) {
    if (reading.air || reading.humidity)
      return invalid("--surface is of a piece; --air and --rh are of a zone");
    const auto pieces = pieces_named(workshop, {params.what});
    if (!pieces) return pieces.error();
    return store(workshop, {entry_of(pieces->front()->id, now, *at, reading)}, now);
  }
  if (!reading.air && !reading.humidity)
    return invalid("what was read? Add --air 17C, --rh 58, or --surface 14C");
  const auto zone = zone_named(workshop, params.what, std::nullopt);
  if (!zone) return zone.error();
  reading.zone = *zone;
  return store(workshop, {entry_of({}, now, *at, reading)}, now);
}

}  // namespace setwell::service
