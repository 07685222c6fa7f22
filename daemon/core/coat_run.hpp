#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/core/air_history.hpp"
#include "daemon/core/coat_clocks.hpp"
#include "daemon/core/entry.hpp"
#include "daemon/core/fold.hpp"
#include "daemon/core/forecast.hpp"
#include "daemon/core/outlook.hpp"
#include "daemon/core/time_model.hpp"

/// Carries every clock of one coat through the recorded air.
namespace setwell::core {

struct CoatPlan;  // coat_state.hpp

/// All that decides a coat's clocks besides the air.
struct CoatCase {
  std::shared_ptr<const Material> material;  ///< the edition it was made under
  Coat coat;
  quantity::Minutes lag{6.0};  ///< the form's thermal lag τ; any τ(t) in [τ/2, 2τ] is covered
  std::optional<quantity::SquareCentimetres> area;   ///< the form's, so that grams tell a film
  std::vector<Stay> stays;                           ///< of the piece, by time
  std::vector<Event<HandReading>> surface_readings;  ///< of the piece: each replaces the lag for 30 min
  std::optional<quantity::Instant> covered;          ///< when the next coat went on this one
  Strictness strictness;
  /// What is known beyond the sheet; the built-in priors when null.
  std::shared_ptr<const PriorBook> priors;
  std::vector<LearnedShift> learned;  ///< from coats tested before this one was made
  /// The material's clocks, shared between coats of one edition, load, strictness, priors and lesson; made
  /// afresh when null.
  std::shared_ptr<const SheetClocks> clocks;
};

/// The recorded air of a zone, by id; nullptr for a zone without any.
using AirOf = std::function<const AirHistory*(const quantity::ZoneId&)>;

/// One clock's progress, and what the likely track (touch tests) has.
struct ClockProgress {
  Bounded<double> bounds;
  double likely = 0;
};

/// The state of all clocks of one coat at a moment of the record, and how to go on from there. A value:
/// copies are checkpoints. Going on from a checkpoint gives the same bits as going from the start.
class CoatRun {
 public:
  explicit CoatRun(std::shared_ptr<const CoatCase> coat);

  /// Consumes whole recorded pieces until the record ends, the next would pass `until`, or `most_pieces` are
  /// done. Answers whether it stopped for the last reason, so a caller can work in slices. A stay that has
  /// ended is run on what its zone had told by the move (`AirHistory::as_left`), once that zone or a later
  /// one of the piece has recorded anything past the move.
  bool advance(const AirOf& air, quantity::Instant until, int most_pieces);
  /// Up to where the record has been consumed. Before the first reading: the start of the fast clock.
  [[nodiscard]] quantity::Instant upto() const;
  /// Whether anything can still change: false once full cure (or the last clock there is) is reached by the
  /// slow clock and nothing on the sheet is left.
  [[nodiscard]] bool finished() const;

  /// What the clocks say at `now` >= upto(): runs the unfinished end of the record on a copy, then the air
  /// ahead (at most 60 days) for the times still to come: by `forecast`, that of the zone the coat is in, the
  /// slow clock along its cold edge and the fast one along its warm one; without it by what is assumed.
  /// With `earlier`, an outlook of the same run from not long ago, its times ahead and chances are taken over
  /// as long as they hold: a small part of the work.
  [[nodiscard]] Outlook outlook(const AirOf& air, quantity::Instant now, const Outlook* earlier = nullptr,
                                const Forecast* forecast = nullptr) const;

  /// What the clocks of a coat yet to be made would say, all of its air being ahead: for a run that has
  /// consumed nothing, made for a moment at or after the end of the record and surely at that moment. Its
  /// `outside` holds what the middle of that air at the start is outside of. Chances are left out where the
  /// forecast ends before the middle clock is tack-free. Looks `farthest` ahead at most.
  [[nodiscard]] Outlook foreseen(const AirHistory* air, const Forecast* forecast,
                                 quantity::Span farthest) const;

  /// How far each clock was at `at` by what had been recorded then, from here on; readings after `at` do not
  /// count. In the order of the case's clocks.
  [[nodiscard]] std::vector<ClockProgress> progress_as_known(const AirOf& air, quantity::Instant at) const;

  /// Exact bytes of the state (not of the case), for a checkpoint; `load` refuses bytes of another engine.
  [[nodiscard]] std::string save() const;
  [[nodiscard]] static std::optional<CoatRun> load(std::shared_ptr<const CoatCase> coat,
                                                   std::string_view bytes);

  friend bool operator==(const CoatRun& a, const CoatRun& b) { return a.save() == b.save(); }

 private:
  CoatRun(std::shared_ptr<const CoatCase> coat, std::shared_ptr<const CoatPlan> plan,
          std::vector<double> numbers)
      : case_(std::move(coat)), plan_(std::move(plan)), numbers_(std::move(numbers)) {}
  /// Carries on over what is known of the air at `now`, pieces cut where they must be: for copies only.
  void run_known(const AirOf& air, quantity::Instant now);
  /// Carries on over the air ahead until every clock is there, at most as far as said.
  void run_ahead(const AirHistory* air, const Forecast* forecast, quantity::Instant now,
                 quantity::Span farthest);

  std::shared_ptr<const CoatCase> case_;
  std::shared_ptr<const CoatPlan> plan_;
  std::vector<double> numbers_;  // laid out by coat_state.hpp; doubles only, so that saving is exact
};

/// Changes whenever the same record would give other numbers.
inline constexpr int kEngineVersion = 6;

}  // namespace setwell::core
