#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/review_findings.hpp"

/// What steps, moves, rotator and decals say.
namespace setwell::core {

using quantity::Instant;

namespace {

const Event<StepDone>* last_step(const Piece& piece, Step step, Instant before) {
  const Event<StepDone>* found = nullptr;
  for (const auto& event : piece.steps) {
    if (event.body.step == step && event.happened <= before) found = &event;
  }
  return found;
}

std::optional<quantity::ZoneId> zone_at(const Piece& piece, Instant at) {
  std::optional<quantity::ZoneId> zone;
  for (const auto& stay : piece.stays) {
    if (stay.since <= at || !zone) zone = stay.zone;
  }
  return zone;
}

/// A film that reached tack-free (or the record's end) ran no more.
void find_rotator(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const Instant from = coat.coat->made.first_pass;
  const auto zone = zone_at(*coat.piece, from);
  std::optional<bool> running;
  for (const auto& event : file.workbook.rotators) {
    if (!zone || event.body.zone != *zone) continue;
    if (event.happened <= from) {
      running = event.body.running;
    } else if (event.happened < coat.tack_free && !event.body.running) {
      return findings.set(
          Finding::rotator_stopped, 1,
          fmt::format("the rotator stopped {} after coating, before tack-free",
                      show(std::chrono::duration_cast<quantity::Span>(event.happened - from))));
    }
  }
  if (running == false)
    findings.set(Finding::rotator_stopped, 1, "the rotator stood still when it was coated");
  if (running == true) findings.set(Finding::rotator_stopped, -1, "the rotator ran until tack-free");
}

void find_moves(const CoatFacts& coat, Findings& findings) {
  for (std::size_t i = 1; i < coat.piece->stays.size(); ++i) {
    const auto& stay = coat.piece->stays[i];
    const bool elsewhere = stay.zone != coat.piece->stays[i - 1].zone;
    if (elsewhere && stay.since > coat.coat->made.last_pass && stay.since < coat.tack_free)
      findings.set(Finding::moved_wet, 1, "moved to " + stay.zone.text() + " before tack-free");
  }
}

void find_packing(const CaseFile& file, const CoatFacts& coat, Findings& findings) {
  const auto& ended = coat.piece->ended;
  if (!ended || ended->body.ending != Ending::shipped || coat.material == nullptr || !coat.clocks) return;
  const auto* clock = coat.clocks->clock(Milestone::packing);
  if (clock == nullptr) clock = coat.clocks->clock(Milestone::handling);
  if (clock == nullptr) return;
  const auto at = [&](const std::optional<Instant>& moment) { return moment && *moment <= ended->happened; };
  const double value = at(clock->at.slow) ? -1 : at(clock->at.expected) ? -0.3 : at(clock->at.fast) ? 0.6 : 1;
  findings.set(Finding::packed_early, value,
               fmt::format("packed {}; its {} clock {}", moment(ended->happened, file.now, file.display),
                           word(clock->milestone), value > 0 ? "was not there yet" : "was there"));
}

void find_preparation(const Facts& facts, Findings& findings) {
  const auto& piece = *facts.coat.piece;
  const double scuffed = facts.saw(Observed::body_scuffed), degreased = facts.saw(Observed::body_degreased);
  const Instant first = piece.coats.front().made.first_pass;
  const bool sanded = scuffed > 0 || last_step(piece, Step::sanded, first) != nullptr;
  const bool cleaned = degreased > 0 || last_step(piece, Step::wiped, first) != nullptr ||
                       last_step(piece, Step::washed, first) != nullptr;
  if (scuffed < 0 || degreased < 0) {
    findings.set(Finding::body_unprepared, 1,
                 "the body was not " + std::string(scuffed < 0 ? "scuffed" : "degreased"));
  } else if (sanded && cleaned) {
    findings.set(Finding::body_unprepared, -1, "the body was scuffed and degreased");
  } else if (sanded || cleaned) {
    findings.set(Finding::body_unprepared, 0.4,
                 sanded ? "scuffed, but no degreasing is logged" : "degreased, but no scuffing is logged");
  }
}

void find_wiping(const Facts& facts, Findings& findings) {
  const auto& piece = *facts.coat.piece;
  const Instant at = facts.coat.coat->made.first_pass;
  const Instant after =
      facts.below ? facts.below->coat->made.last_pass : piece.begun - std::chrono::days(366);
  const auto* wiped = last_step(piece, Step::wiped, at);
  const auto* washed = last_step(piece, Step::washed, at);
  const auto* unmasked = last_step(piece, Step::unmasked, at);
  const auto* last =
      wiped == nullptr || (washed != nullptr && washed->happened > wiped->happened) ? washed : wiped;
  if (last != nullptr && last->happened >= after &&
      (unmasked == nullptr || unmasked->happened <= last->happened)) {
    findings.set(Finding::not_wiped, -1, "wiped before this coat");
  } else {
    findings.set(Finding::not_wiped, 0.5,
                 unmasked != nullptr ? "no wipe is logged after the masking came off"
                                     : "no wipe is logged before this coat");
  }
}

void find_lying(const Facts& facts, Findings& findings) {
  for (const auto what : {Observed::at_tape, Observed::at_hands}) {
    const double value = facts.saw(what);
    if (value == 0 || findings.value(Finding::lies_there) > 0) continue;
    findings.set(Finding::lies_there, value,
                 (value > 0 ? "noticed: " : "looked for, and not so: ") + std::string(meaning(what)));
  }
}

/// The time that flake or glitter needs before the next coat: the sheet's rule for it, else its opening.
void find_load(const Facts& facts, Findings& findings) {
  const bool above = facts.coat.coat->made.load != Load::none && facts.next_interval.has_value();
  const bool flaked_below = facts.below && facts.below->coat->made.load != Load::none;
  const auto* interval = above ? &*facts.next_interval : facts.interval ? &*facts.interval : nullptr;
  const CoatFacts* loaded = above ? &facts.coat : facts.below ? &*facts.below : nullptr;
  const auto* flaked =
      facts.interval ? last_step(*facts.coat.piece, Step::flaked, facts.interval->to) : nullptr;
  const bool scattered =
      flaked != nullptr && flaked->happened >= facts.interval->from - std::chrono::hours(1);
  if (interval == nullptr || loaded == nullptr || loaded->material == nullptr ||
      !(above || flaked_below || scattered)) {
    if (facts.coat.coat->made.load == Load::none && interval != nullptr)
      findings.set(Finding::load_too_soon, -1, "nothing was loaded below");
    return;
  }
  const std::string load(word(loaded->coat->made.load == Load::none ? Load::flake : loaded->coat->made.load));
  const auto rule =
      std::find_if(loaded->material->loaded.begin(), loaded->material->loaded.end(),
                   [&](const LoadedRule& one) { return one.load == load && one.opens_at_least; });
  const auto* opens = interval->rule_clock(Milestone::recoat_opens);
  double value = short_of(opens);
  if (rule != loaded->material->loaded.end()) {
    const double share = interval->hours() / rule->opens_at_least->count();
    const double doubt = quantity::Hours(interval->error).count() / rule->opens_at_least->count();
    value = share + doubt < 0.9 ? 1 : share - doubt >= 1.0 ? (value > 0 ? 0 : -1) : 0;
  }
  findings.set(Finding::load_too_soon, value,
               fmt::format("{:.1f} h after the coat with {}", interval->hours(), load));
}

void find_decal(const CaseFile& file, const Facts& facts, Findings& findings) {
  const auto& piece = *facts.coat.piece;
  const auto* decal = last_step(piece, Step::decal, file.now);
  const bool there = decal != nullptr || facts.has(Sign::decal_lift);
  findings.set(Finding::has_decal, there ? 1 : -1, there ? "there is a decal" : "no decal is logged");
  if (decal == nullptr) return;
  const Coat *under = nullptr, *over = nullptr;
  for (const auto& coat : piece.coats) {
    if (coat.made.last_pass <= decal->happened) under = &coat;
    if (coat.made.first_pass > decal->happened && over == nullptr) over = &coat;
  }
  const CoatFacts* base = nullptr;
  if (under != nullptr && under == facts.coat.coat) base = &facts.coat;
  if (under != nullptr && facts.below && under == facts.below->coat) base = &*facts.below;
  if (base != nullptr && base->clocks) {
    const auto* firm = base->clocks->clock(Milestone::handling);
    const auto at = [&](const std::optional<Instant>& moment) {
      return moment && *moment <= decal->happened;
    };
    if (firm != nullptr)
      findings.set(Finding::decal_on_soft,
                   at(firm->at.slow)       ? -1
                   : at(firm->at.expected) ? -0.5
                   : at(firm->at.fast)     ? 0.6
                                           : 1,
                   fmt::format("the decal went on {:.0f} h after its base",
                               quantity::hours_between(under->made.last_pass, decal->happened).count()));
  }
  if (over == nullptr) return;
  const double hours = quantity::hours_between(decal->happened, over->made.first_pass).count();
  double needed = decal->body.kind == "vinyl" ? 0.0 : 12.0;
  const auto* sheet = decal->body.edition ? file.material(*decal->body.edition) : nullptr;
  if (const auto* rule = sheet == nullptr ? nullptr : rule_for(*sheet, over->made.sheet, sheet->family);
      rule != nullptr && rule->opens)
    needed = rule->opens->rows.back().time.high.count();
  const double value = needed == 0 ? -1 : hours < 0.7 * needed ? 1 : hours >= needed ? -1 : 0;
  findings.set(Finding::decal_sealed_early, value,
               fmt::format("sealed {:.1f} h after the decal; it wants {:.0f} h", hours, needed));
}

void find_stock(const CaseFile& file, const Facts& facts, Findings& findings) {
  for (const auto& lot : file.workbook.lots) {
    if (lot.body.sheet != facts.coat.coat->made.sheet || lot.happened > facts.coat.coat->made.first_pass)
      continue;
    const auto age =
        std::chrono::duration_cast<std::chrono::days>(facts.coat.coat->made.first_pass - lot.happened);
    if (age >= std::chrono::days(365))
      findings.set(Finding::old_stock, 0.6,
                   fmt::format("lot {} was opened {} days before", lot.body.lot, age.count()));
  }
}

}  // namespace

void find_in_steps(const CaseFile& file, const Facts& facts, Findings& findings) {
  find_rotator(file, facts.coat, findings);
  find_moves(facts.coat, findings);
  find_packing(file, facts.coat, findings);
  find_preparation(facts, findings);
  find_wiping(facts, findings);
  find_lying(facts, findings);
  find_load(facts, findings);
  find_decal(file, facts, findings);
  find_stock(file, facts, findings);
  const auto* sanded = last_step(*facts.coat.piece, Step::sanded, file.now);
  if (facts.has(Sign::rings) && sanded != nullptr && sanded->happened > facts.coat.coat->made.last_pass)
    findings.set(Finding::sanded_between, 1, "sanded after this coat");
}

}  // namespace setwell::core
