#include "daemon/core/review_lines.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/blush.hpp"
#include "daemon/core/touch_rules.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

class Lines {
 public:
  Lines(const CaseFile& file, const Review& review) : file_(file), review_(review), facts_(review.facts) {}

  std::vector<FactLine> take() {
    mates();
    mix();
    coat(facts_.coat, "this coat");
    interval();
    if (facts_.below) coat(*facts_.below, "the coat below");
    return std::move(lines_);
  }

 private:
  void add(std::string topic, std::string text) {
    if (!text.empty()) lines_.push_back({std::move(topic), std::move(text)});
  }
  [[nodiscard]] std::string degrees(double celsius) const {
    const auto value = quantity::Celsius::from(celsius);
    return value ? show(*value, file_.display) : "?";
  }

  void mates() {
    constexpr std::array kCompared{
        Finding::batch_mate_bad,     Finding::other_batch_bad, Finding::other_zone_good,
        Finding::other_material_bad, Finding::lot_bad,         Finding::same_top_good_elsewhere,
        Finding::other_top_good_here};
    for (const auto finding : kCompared) {
      if (review_.findings.value(finding) != 0) add("others", review_.findings[finding].text);
    }
  }

  void mix() {
    const auto& mix = facts_.mix;
    if (mix.batch == nullptr) return;
    const auto& made = mix.batch->made;
    std::string text =
        fmt::format("batch {}, {:.0f} min after mixing", made.batch.text(), mix.minutes_since_mixing);
    if (mix.weighed) text += fmt::format(", {} + {}", show(made.part_a), show(made.part_b));
    if (made.stirred) text += fmt::format(", stirred {:g} min", made.stirred->count());
    if (made.resin_temperature) text += ", resin at " + show(*made.resin_temperature, file_.display);
    if (made.lot_a) text += ", lot A " + *made.lot_a;
    if (made.lot_b) text += ", lot B " + *made.lot_b;
    add("mix", std::move(text));
    if (mix.ratio) add("ratio", sentence(*mix.ratio));
    if (mix.pot_life_expected && mix.pot_life_fast)
      add("pot life", fmt::format("{:.0f} % used up by the expected clock, {:.0f} % by the fast one",
                                  100 * *mix.pot_life_expected, 100 * *mix.pot_life_fast));
    for (const auto& touch : mix.batch->witness)
      add("witness", fmt::format("felt {} {}", word(touch.body.touch),
                                 moment(touch.happened, file_.now, file_.display)));
  }

  void coat(const CoatFacts& coat, const std::string& which) {
    const auto& made = coat.coat->made;
    std::string text = fmt::format("coat {} of {}", coat.coat->number, made.sheet.text());
    if (coat.material != nullptr)
      text += fmt::format(", edition {} of {}", coat.material->edition, coat.material->document);
    text += fmt::format(", {} in {}", moment(made.last_pass, file_.now, file_.display), made.zone.text());
    if (coat.coat->error >= std::chrono::minutes(10)) text += " ± " + show(coat.coat->error);
    if (made.lot) text += ", lot " + *made.lot;
    if (made.load != Load::none) text += ", loaded with " + std::string(word(made.load));
    add(which, std::move(text));
    if (coat.film_um) add(which, fmt::format("film {:.0f} µm, {}", *coat.film_um, coat.film_from));
    for (const auto& phase : coat.phases)
      add(which, phase_text(phase));
    for (const auto& outside : coat.outside)
      add(which, outside_text(outside));
    dose(coat, which);
  }

  [[nodiscard]] std::string phase_text(const PhaseFacts& phase) const {
    std::string text = fmt::format("{} ({}): ", phase.phase,
                                   show(std::chrono::duration_cast<quantity::Span>(phase.to - phase.from)));
    if (!phase.air_c.least) return text + "no readings";
    text +=
        fmt::format("air {} to {}, surface {} to {}", degrees(*phase.air_c.least), degrees(*phase.air_c.most),
                    degrees(*phase.surface_c.least), degrees(*phase.surface_c.most));
    if (phase.humidity_pct.least)
      text +=
          fmt::format(", humidity {:.0f} to {:.0f} %", *phase.humidity_pct.least, *phase.humidity_pct.most);
    if (phase.dew_margin_k.least)
      text +=
          ", dew margin at least " + show(quantity::CelsiusDelta(*phase.dew_margin_k.least), file_.display);
    if (phase.silent_h >= 0.5) text += fmt::format(", {:.1f} h without readings", phase.silent_h);
    if (!phase.ended) text += "; not reached by then";
    return text;
  }

  [[nodiscard]] std::string outside_text(const OutsideFacts& outside) const {
    if (outside.hours <= 0) return {};
    const auto told = core::told(outside.rule, outside.worst, outside.rule.from);
    const auto value = [&](double number) {
      if (told.unit == "degC") return degrees(number);
      if (told.unit == "K") return show(quantity::CelsiusDelta(number), file_.display);
      return fmt::format("{:.0f} %", number);
    };
    return fmt::format("{} of {} for {:.1f} h of {:.1f} h, worst {}", told.what, value(outside.rule.bound),
                       outside.hours, outside.of_hours, value(outside.worst));
  }

  void dose(const CoatFacts& coat, const std::string& which) {
    if (!coat.clocks) return;
    if (coat.clocks->blush_dose)
      add(which, fmt::format("blush dose {:.2f} until tack-free (under {:.1f} low, over {:.1f} high)",
                             *coat.clocks->blush_dose, kBlushSome, kBlushHigh));
    if (coat.clocks->condensing.count() > 0)
      add(which, fmt::format("water condensed on it for {:.1f} h", coat.clocks->condensing.count()));
    if (coat.under_floor_h > 0 && coat.cure_floor_c)
      add(which,
          fmt::format("{:.1f} h under its {}cure floor of {} in the first three days", coat.under_floor_h,
                      coat.floor_assumed ? "assumed " : "", degrees(*coat.cure_floor_c)));
  }

  void interval() {
    if (!facts_.interval) return;
    const auto& interval = *facts_.interval;
    std::string text =
        show(std::chrono::duration_cast<quantity::Span>(interval.to - interval.from)) + " between the coats";
    if (interval.error > std::chrono::minutes(20)) text += " ± " + show(interval.error);
    add("interval", std::move(text));
    for (const auto milestone :
         {Milestone::recoat_opens, Milestone::recoat_closes, Milestone::gap_begins, Milestone::gap_ends}) {
      const auto* clock = interval.rule_clock(milestone);
      if (clock == nullptr || clock->no_limit) continue;
      add("window", fmt::format("{} stood at {:.0f} % when it was coated ({:.0f} to {:.0f} %)",
                                word(milestone), 100 * clock->progress.expected, 100 * clock->progress.slow,
                                100 * clock->progress.fast));
    }
    if (interval.rule == nullptr) add("window", "the sheet below states no window for what went on top");
    const auto done = [&](const Event<StepDone>* step, const char* what) {
      return step == nullptr ? fmt::format("not {}", what)
                             : fmt::format("{} {}", what, moment(step->happened, file_.now, file_.display));
    };
    add("between", fmt::format("{}; {}; {}, as far as logged", done(interval.washed, "washed"),
                               done(interval.sanded, "sanded"), done(interval.wiped, "wiped")));
    if (interval.last_touch)
      add("between", fmt::format("felt {} before it was coated", word(*interval.last_touch)));
  }

  const CaseFile& file_;
  const Review& review_;
  const Facts& facts_;
  std::vector<FactLine> lines_;
};

}  // namespace

std::vector<FactLine> fact_lines(const CaseFile& file, const Review& review) {
  return Lines(file, review).take();
}

std::vector<EventLine> event_lines(const CaseFile& file, const Facts& facts) {
  const auto& piece = *facts.coat.piece;
  std::vector<EventLine> lines;
  for (const auto& coat : piece.coats)
    lines.push_back({coat.made.last_pass, fmt::format("coat {}: {}", coat.number, coat.made.sheet.text())});
  for (const auto& step : piece.steps)
    lines.push_back({step.happened, step.body.text
                                        ? fmt::format("{}: {}", word(step.body.step), *step.body.text)
                                        : std::string(word(step.body.step))});
  for (const auto& touch : piece.touches)
    lines.push_back({touch.happened, fmt::format("felt {}", word(touch.body.touch))});
  for (std::size_t i = 1; i < piece.stays.size(); ++i) {
    if (piece.stays[i].zone != piece.stays[i - 1].zone)
      lines.push_back({piece.stays[i].since, "moved to " + piece.stays[i].zone.text()});
  }
  for (const auto& rotator : file.workbook.rotators) {
    if (rotator.body.zone == facts.coat.coat->made.zone)
      lines.push_back(
          {rotator.happened, fmt::format("rotator {}", rotator.body.running ? "running" : "stopped")});
  }
  for (const auto& defect : piece.defects) {
    std::string text = "seen:";
    for (const auto& sign : defect.body.signs)
      text += " " + sign;
    lines.push_back({defect.happened, std::move(text)});
  }
  if (piece.ended) lines.push_back({piece.ended->happened, std::string(word(piece.ended->body.ending))});
  std::stable_sort(lines.begin(), lines.end(),
                   [](const EventLine& a, const EventLine& b) { return a.at < b.at; });
  return lines;
}

PictureSpan picture_span(const Facts& facts) {
  constexpr auto kWeek = std::chrono::days(7);
  const Instant made = facts.coat.coat->made.first_pass;
  PictureSpan span{made, std::min(facts.coat.until, made + kWeek)};
  if (facts.below && made - facts.below->coat->made.first_pass <= kWeek)
    span.from = facts.below->coat->made.first_pass;
  span.to = std::max(span.to, span.from + std::chrono::hours(1));
  return span;
}

std::vector<AirStep> picture_course(const Facts& facts, std::size_t most) {
  const auto span = picture_span(facts);
  std::vector<AirStep> all;
  const auto take = [&](const std::vector<AirStep>& steps) {
    for (const auto& step : steps) {
      if (step.to > span.from && step.from < span.to) all.push_back(step);
    }
  };
  if (facts.below) take(facts.below->steps);
  take(facts.coat.steps);
  if (all.size() <= most) return all;
  std::vector<AirStep> kept;
  const std::size_t width = all.size() / most + 1;
  for (std::size_t i = 0; i < all.size(); i += width) {
    const auto end = std::min(i + width, all.size());
    std::size_t best = i;
    for (std::size_t j = i; j < end; ++j) {
      if (all[j].silent != all[best].silent
              ? all[j].silent
              : !kept.empty() && std::abs(all[j].air_c - kept.back().air_c) >
                                     std::abs(all[best].air_c - kept.back().air_c))
        best = j;
    }
    kept.push_back(all[best]);
  }
  return kept;
}

std::vector<LaneLine> lane_lines(const Facts& facts) {
  std::vector<LaneLine> lanes;
  const auto span = picture_span(facts);
  const auto or_end = [&](const std::optional<Instant>& at) { return at.value_or(span.to); };
  const auto wet = [&](const CoatFacts& coat) {
    const auto* clock = coat.clocks ? coat.clocks->clock(Milestone::tack_free) : nullptr;
    if (clock == nullptr) return;
    const Instant made = coat.coat->made.first_pass;
    lanes.push_back({fmt::format("coat {} not set", coat.coat->number), made, made, or_end(clock->at.fast),
                     or_end(clock->at.slow)});
  };
  if (facts.below) wet(*facts.below);
  wet(facts.coat);
  if (!facts.interval) return lanes;
  const auto& interval = *facts.interval;
  const auto* opens = interval.rule_clock(Milestone::recoat_opens);
  const auto* closes = interval.rule_clock(Milestone::recoat_closes);
  if (opens != nullptr) {
    const bool ends = closes != nullptr && !closes->no_limit;
    lanes.push_back({fmt::format("coat {} open", facts.below->coat->number), or_end(opens->at.fast),
                     or_end(opens->at.slow), ends ? or_end(closes->at.fast) : span.to,
                     ends ? or_end(closes->at.slow) : span.to});
  }
  const auto* begins = interval.rule_clock(Milestone::gap_begins);
  const auto* gap_ends = interval.rule_clock(Milestone::gap_ends);
  if (begins != nullptr && gap_ends != nullptr)
    lanes.push_back({fmt::format("gap of coat {}", facts.below->coat->number), or_end(begins->at.fast),
                     or_end(begins->at.slow), or_end(gap_ends->at.fast), or_end(gap_ends->at.slow)});
  return lanes;
}

std::vector<std::string> review_cautions(const Review& review) {
  std::vector<std::string> cautions{std::string(dust_caution()),
                                    "Half-cured epoxy and its dust may make a person allergic for good: "
                                    "gloves, sleeves, wash with soap, never with solvent.",
                                    "Heat only while somebody attends it; no flame and no glowing wire where "
                                    "alcohol or solvent has been used.",
                                    "Try a spot or a scrap first. The product's own datasheet decides."};
  if (review.facts.coat.material == nullptr) return cautions;
  for (const auto& caution : review.facts.coat.material->cautions) {
    const bool wanted = caution.topic == "dust" || caution.topic == "flame" || caution.topic == "breathing";
    if (wanted && std::find(cautions.begin(), cautions.end(), caution.text) == cautions.end())
      cautions.push_back(caution.text);
  }
  return cautions;
}

}  // namespace setwell::core
