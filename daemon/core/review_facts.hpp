#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/mix_check.hpp"
#include "daemon/core/review_air.hpp"
#include "daemon/core/review_words.hpp"

/// The facts of a coat that went wrong, before anything is blamed. Pure.
namespace setwell::core {

/// One coat as the record has it.
struct CoatFacts {
  const Piece* piece = nullptr;
  std::size_t index = 0;
  const Coat* coat = nullptr;
  const Material* material = nullptr;  ///< null when its edition is not known
  quantity::Instant until;             ///< up to where it is looked at
  std::vector<AirStep> steps;          ///< from its making to `until`
  std::vector<PhaseFacts> phases;
  std::vector<OutsideFacts> outside;
  std::optional<Outlook> clocks;  ///< at `until`
  quantity::Instant tack_free;    ///< by the expected clock, or `until`
  std::optional<double> film_um;
  std::string film_from;  ///< logged, or grams over area
  std::optional<double> cure_floor_c;
  bool floor_assumed = false;
  double under_floor_h = 0;  ///< of the first three days

  [[nodiscard]] const PhaseFacts* phase(std::string_view name) const;
};

/// How a coat stood when the next one went on.
struct IntervalFacts {
  quantity::Instant from, to;
  quantity::Span error{0};  ///< of both times together
  const RecoatRule* rule = nullptr;
  std::optional<Outlook> at_coating;  ///< the clocks of the coat below at that moment
  int rule_index = -1;
  const Event<StepDone>* washed = nullptr;
  const Event<StepDone>* sanded = nullptr;
  const Event<StepDone>* wiped = nullptr;
  std::optional<Touch> last_touch;
  [[nodiscard]] double hours() const { return quantity::hours_between(from, to).count(); }
  [[nodiscard]] const ClockReading* clock(Milestone milestone) const;
  [[nodiscard]] const ClockReading* rule_clock(Milestone milestone) const;
};

struct MixFacts {
  const Batch* batch = nullptr;
  bool weighed = false;
  std::optional<MixCheck> ratio;
  double minutes_since_mixing = 0;
  std::optional<double> pot_life_fast, pot_life_expected;  ///< progress when it went on
};

struct Facts {
  CoatFacts coat;
  std::optional<CoatFacts> below;
  std::optional<IntervalFacts> interval;       ///< from the coat below to this one
  std::optional<IntervalFacts> next_interval;  ///< from this one to the one above
  MixFacts mix;
  std::vector<Sign> signs;
  std::vector<Noticed> noticed;      ///< on this piece
  std::vector<std::string> missing;  ///< what stands in the way, in sentences

  [[nodiscard]] bool has(Sign sign) const;
  /// +1 noticed, -1 looked for and not so, 0 not noticed.
  [[nodiscard]] double saw(Observed what) const;
};

/// `signs` are those of the coat's defects, or asked for. `subject` must point into the case's workbook.
[[nodiscard]] Facts facts_of(const CaseFile& file, const Subject& subject, std::vector<Sign> signs);

/// A sheet's own time for a milestone, at the row nearest to its reference temperature, upper end.
[[nodiscard]] std::optional<quantity::Hours> stated_time(const Material& material, Milestone milestone);

/// Signs that cannot all be true of one coat, in a sentence; empty when they can.
[[nodiscard]] std::string contradiction(const std::vector<Sign>& signs, const Piece& piece, const Coat& coat);

}  // namespace setwell::core
