#include "daemon/core/review_facts.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/batch_run.hpp"
#include "daemon/core/priors.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

constexpr auto kLongestLook = std::chrono::days(60);
constexpr auto kExactEnough = std::chrono::minutes(10);
constexpr auto kFirstDays = std::chrono::hours(72);
constexpr quantity::Minutes kUnknownLag{6.6};
constexpr int kAllPieces = 1 << 30;

/// The clocks of a coat at `at`, what went on it later put aside.
std::optional<Outlook> clocks_at(const CaseFile& file, const Piece& piece, std::size_t index, Instant at) {
  const auto& coat = piece.coats[index];
  const auto found = file.materials.find(coat.made.edition);
  if (found == file.materials.end() || !found->second) return std::nullopt;
  CoatCase made;
  made.material = found->second;
  made.coat = coat;
  const auto form = file.forms.find(piece.made.form);
  made.lag = form == file.forms.end() ? kUnknownLag : form->second.lag.value_or(kUnknownLag);
  made.stays = piece.stays;
  made.surface_readings = piece.surface_readings;
  if (index + 1 < piece.coats.size() && piece.coats[index + 1].made.first_pass < at)
    made.covered = piece.coats[index + 1].made.first_pass;
  made.strictness = file.strictness;
  CoatRun run(std::make_shared<const CoatCase>(std::move(made)));
  if (at > run.upto()) run.advance(file.air, at, kAllPieces);
  return run.outlook(file.air, std::max(at, run.upto()));
}

Instant reached_or(const ClockReading* clock, Instant otherwise) {
  if (clock == nullptr || !clock->reached.expected || !clock->at.expected) return otherwise;
  return std::min(*clock->at.expected, otherwise);
}

bool reached(const ClockReading* clock) {
  return clock != nullptr && clock->reached.expected;
}

int rule_index(const Material& material, const RecoatRule* rule) {
  return rule == nullptr ? -1 : static_cast<int>(rule - material.recoat.data());
}

std::optional<double> mixed_density(const Material& material) {
  if (!material.mix || !material.mix->density_a || !material.mix->density_b) return std::nullopt;
  const auto ratio = weight_ratio(*material.mix);
  if (!ratio) return std::nullopt;
  const double a = material.mix->density_a->value(), b = material.mix->density_b->value();
  return (*ratio + 1.0) / (*ratio / a + 1.0 / b);
}

/// Nothing evaporates from an epoxy, so grams over area and density are its film.
void find_film(const CaseFile& file, CoatFacts& facts) {
  if (facts.coat->made.film) {
    facts.film_um = facts.coat->made.film->value();
    facts.film_from = "as logged";
    return;
  }
  const auto form = file.forms.find(facts.piece->made.form);
  if (!facts.coat->made.grams || form == file.forms.end() || !form->second.area) return;
  constexpr double kUsualDensity = 1.1;
  const double density =
      (facts.material == nullptr ? std::nullopt : mixed_density(*facts.material)).value_or(kUsualDensity);
  facts.film_um = 1e4 * facts.coat->made.grams->value() / (density * form->second.area->value());
  facts.film_from = "from grams and area";
}

void find_floor(CoatFacts& facts) {
  if (facts.material == nullptr) return;
  facts.floor_assumed = !facts.material->cure_floor;
  facts.cure_floor_c =
      facts.floor_assumed ? floor_upper_c(facts.material->family) : facts.material->cure_floor->degrees();
  const Instant until = facts.coat->made.first_pass + kFirstDays;
  for (const auto& step : facts.steps) {
    if (!step.silent && step.from < until && step.surface.expected < *facts.cure_floor_c)
      facts.under_floor_h += step.hours();
  }
}

void find_phases(CoatFacts& facts, const Piece& piece) {
  const Instant from = facts.coat->made.first_pass;
  const Instant applied = facts.coat->made.last_pass + std::chrono::minutes(30);
  facts.phases.push_back(phase_facts(facts.steps, "application", from, std::min(applied, facts.until), true));
  if (!facts.clocks || facts.material == nullptr) {
    facts.phases.push_back(phase_facts(facts.steps, "as far as recorded", from, facts.until, false));
    return;
  }
  const auto add = [&](const char* name, const ClockReading* clock) {
    if (clock != nullptr)
      facts.phases.push_back(
          phase_facts(facts.steps, name, from, reached_or(clock, facts.until), reached(clock)));
  };
  const auto* top = facts.index + 1 < piece.coats.size() ? &piece.coats[facts.index + 1] : facts.coat;
  const auto* rule = rule_for(*facts.material, top->made.sheet, facts.material->family);
  add("until tack-free", facts.clocks->clock(Milestone::tack_free));
  add("until recoat", facts.clocks->clock(Milestone::recoat_opens, rule_index(*facts.material, rule)));
  add("until full cure", facts.clocks->clock(Milestone::full_cure));
}

CoatFacts coat_facts(const CaseFile& file, const Piece& piece, std::size_t index, Instant until) {
  CoatFacts facts;
  facts.piece = &piece;
  facts.index = index;
  facts.coat = &piece.coats[index];
  facts.material = file.material(facts.coat->made.edition);
  facts.until = std::max(std::min(until, facts.coat->made.first_pass + kLongestLook),
                         facts.coat->made.last_pass + std::chrono::minutes(1));
  facts.steps = air_about(file, piece, *facts.coat, facts.coat->made.first_pass, facts.until);
  facts.clocks = clocks_at(file, piece, index, facts.until);
  facts.tack_free =
      reached_or(facts.clocks ? facts.clocks->clock(Milestone::tack_free) : nullptr, facts.until);
  // A film whose sheet states no flash-off has flashed off once it is tack-free.
  const Instant flash_off =
      reached_or(facts.clocks ? facts.clocks->clock(Milestone::flash_off_over) : nullptr, facts.tack_free);
  find_film(file, facts);
  find_floor(facts);
  find_phases(facts, piece);
  if (facts.material != nullptr)
    facts.outside = outside_facts(facts.steps, *facts.material, *facts.coat, {flash_off, facts.tack_free});
  return facts;
}

/// When the upper coat's own time is not exact, the slow clocks count to its earliest moment and the fast
/// ones to its latest.
void widen(Outlook& outlook, const std::optional<Outlook>& early, const std::optional<Outlook>& late) {
  for (auto& clock : outlook.clocks) {
    const auto* before = early ? early->clock(clock.milestone, clock.rule) : nullptr;
    const auto* after = late ? late->clock(clock.milestone, clock.rule) : nullptr;
    if (before != nullptr) clock.progress.slow = std::min(clock.progress.slow, before->progress.slow);
    if (after != nullptr) clock.progress.fast = std::max(clock.progress.fast, after->progress.fast);
    // Not even the expected clock says anything once the doubt is as large as the time.
    const bool wide = before != nullptr && after != nullptr &&
                      (before->progress.expected < 1) != (after->progress.expected < 1);
    if (wide) clock.progress.expected = std::clamp(1.0, clock.progress.slow, clock.progress.fast);
  }
}

IntervalFacts interval_facts(const CaseFile& file, const Piece& piece, std::size_t below) {
  const auto& lower = piece.coats[below];
  const auto& upper = piece.coats[below + 1];
  IntervalFacts facts;
  facts.from = lower.made.last_pass;
  facts.to = upper.made.first_pass;
  facts.error = lower.error + upper.error;
  facts.at_coating = clocks_at(file, piece, below, facts.to);
  if (facts.at_coating && upper.error > kExactEnough) {
    widen(*facts.at_coating, clocks_at(file, piece, below, std::max(facts.from, facts.to - upper.error)),
          clocks_at(file, piece, below, facts.to + upper.error));
  }
  const auto* material = file.material(lower.made.edition);
  const auto* top = file.material(upper.made.edition);
  if (material != nullptr) {
    facts.rule = rule_for(*material, upper.made.sheet, top == nullptr ? material->family : top->family);
    facts.rule_index = rule_index(*material, facts.rule);
  }
  for (const auto& step : piece.steps) {
    if (step.happened < facts.from || step.happened > facts.to) continue;
    if (step.body.step == Step::washed) facts.washed = &step;
    if (step.body.step == Step::sanded) facts.sanded = &step;
    if (step.body.step == Step::wiped) facts.wiped = &step;
  }
  for (const auto& touch : piece.touches) {
    if (touch.happened >= facts.from && touch.happened <= facts.to) facts.last_touch = touch.body.touch;
  }
  return facts;
}

MixFacts mix_facts(const CaseFile& file, const CoatFacts& coat) {
  MixFacts facts;
  if (!coat.coat->made.batch) return facts;
  facts.batch = file.workbook.batch(*coat.coat->made.batch);
  if (facts.batch == nullptr) return facts;
  facts.minutes_since_mixing = quantity::Minutes(coat.coat->made.last_pass - facts.batch->mixed).count();
  facts.weighed = !file.unweighed.contains(*coat.coat->made.batch);
  const auto* material = file.material(facts.batch->made.edition);
  if (material == nullptr) return facts;
  if (facts.weighed && material->mix)
    facts.ratio = check_mix(*material->mix, facts.batch->made.part_a, facts.batch->made.part_b, file.scale);
  const auto pot = batch_outlook(*facts.batch, *material, file.air(facts.batch->made.zone), file.strictness.k,
                                 std::max(coat.coat->made.last_pass, facts.batch->mixed));
  if (!pot) return facts;
  facts.pot_life_fast = pot->progress.fast;
  facts.pot_life_expected = pot->progress.expected;
  return facts;
}

std::vector<std::string> missing_of(const Facts& facts) {
  std::vector<std::string> missing;
  const auto about = [&](const CoatFacts& coat, std::string_view which) {
    if (coat.material == nullptr)
      missing.push_back(fmt::format(
          "{}: its sheet's edition cannot be read, so no limit, window or clock is known", which));
    const auto all = phase_facts(coat.steps, "", coat.coat->made.first_pass, coat.until, false);
    if (!all.air_c.least) {
      missing.push_back(fmt::format("{}: no reading of its air in all that time", which));
    } else if (!all.known()) {
      missing.push_back(fmt::format("{}: {:.0f} of {:.0f} hours of its air are not recorded", which,
                                    all.silent_h, all.hours()));
    } else if (!all.humidity_pct.least) {
      missing.push_back(fmt::format("{}: no humidity was recorded", which));
    }
  };
  about(facts.coat, "this coat");
  if (facts.below) about(*facts.below, "the coat below");
  if (facts.coat.material != nullptr && facts.coat.material->mix && facts.mix.batch == nullptr)
    missing.emplace_back(
        "no batch is logged with it: ratio, stirring and minutes since mixing are not known");
  if (facts.mix.batch != nullptr && !facts.mix.weighed)
    missing.emplace_back("nobody wrote down the grams of its batch");
  return missing;
}

std::vector<Noticed> noticed_on(const Piece& piece) {
  std::vector<Noticed> all;
  for (const auto& step : piece.steps) {
    if (step.body.step != Step::noted || !step.body.kind) continue;
    if (const auto noticed = noticed_from(*step.body.kind)) all.push_back(*noticed);
  }
  return all;
}

}  // namespace

const Material* CaseFile::material(quantity::EditionId edition) const {
  const auto found = materials.find(edition);
  return found == materials.end() ? nullptr : found->second.get();
}

const PhaseFacts* CoatFacts::phase(std::string_view name) const {
  const auto found = std::find_if(phases.begin(), phases.end(),
                                  [&](const PhaseFacts& phase) { return phase.phase == name; });
  return found == phases.end() ? nullptr : &*found;
}

const ClockReading* IntervalFacts::clock(Milestone milestone) const {
  return at_coating ? at_coating->clock(milestone) : nullptr;
}
const ClockReading* IntervalFacts::rule_clock(Milestone milestone) const {
  return at_coating && rule_index >= 0 ? at_coating->clock(milestone, rule_index) : nullptr;
}

bool Facts::has(Sign sign) const {
  return std::find(signs.begin(), signs.end(), sign) != signs.end();
}

double Facts::saw(Observed what) const {
  double value = 0;
  for (const auto& one : noticed) {
    if (one.what == what) value = one.so ? 1 : -1;
  }
  return value;
}

Facts facts_of(const CaseFile& file, const Subject& subject, std::vector<Sign> signs) {
  const auto& piece = *subject.piece;
  Facts facts;
  facts.coat = coat_facts(file, piece, subject.coat, file.now);
  if (subject.coat > 0) {
    facts.below = coat_facts(file, piece, subject.coat - 1, piece.coats[subject.coat].made.first_pass);
    facts.interval = interval_facts(file, piece, subject.coat - 1);
  }
  if (subject.coat + 1 < piece.coats.size()) facts.next_interval = interval_facts(file, piece, subject.coat);
  facts.mix = mix_facts(file, facts.coat);
  facts.signs = std::move(signs);
  facts.noticed = noticed_on(piece);
  facts.missing = missing_of(facts);
  if (auto odd = contradiction(facts.signs, piece, *facts.coat.coat); !odd.empty())
    facts.missing.push_back(std::move(odd));
  return facts;
}

std::optional<quantity::Hours> stated_time(const Material& material, Milestone milestone) {
  const auto* table = table_of(material, milestone);
  if (table == nullptr || table->rows.empty()) return std::nullopt;
  const auto off = [&](const Row& row) {
    return std::abs(row.at.degrees() - material.reference_temperature.degrees());
  };
  const auto row = std::min_element(table->rows.begin(), table->rows.end(),
                                    [&](const Row& a, const Row& b) { return off(a) < off(b); });
  if (row->time.wording == Wording::no_limit) return std::nullopt;
  return row->time.high;
}

std::string contradiction(const std::vector<Sign>& signs, const Piece& piece, const Coat& coat) {
  const auto has = [&](Sign sign) { return std::find(signs.begin(), signs.end(), sign) != signs.end(); };
  const bool soft = has(Sign::soft) || has(Sign::never_dried);
  if (soft && has(Sign::soft_when_hot))
    return "the signs contradict each other: soft as it is, and soft only when warm";
  if (has(Sign::peeling) && has(Sign::off_the_body))
    return "the signs contradict each other: it comes off between coats, and off the body; look at the back "
           "of a flake";
  if (!soft) return {};
  for (const auto& touch : piece.touches) {
    const bool hard = touch.body.touch == Touch::hard || touch.body.touch == Touch::powders;
    if (hard && touch.happened >= coat.happened)
      return "the signs contradict the touch tests: it was felt hard after this coat";
  }
  return {};
}

}  // namespace setwell::core
