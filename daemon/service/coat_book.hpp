#pragma once

#include <map>
#include <memory>
#include <optional>

#include "daemon/core/batch_run.hpp"
#include "daemon/core/coat_run.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/service/bookshelf.hpp"
#include "daemon/service/entry_book.hpp"
#include "daemon/service/forecast_book.hpp"
#include "daemon/service/learned_book.hpp"
#include "daemon/service/sensor_book.hpp"
#include "daemon/settings/settings.hpp"

/// The running clocks of every coat of the pieces in progress.
namespace setwell::service {

/// One coat's clocks: a cache over entries, editions and readings.
struct TrackedCoat {
  std::shared_ptr<const core::CoatCase> coat;
  quantity::PieceId piece;
  core::CoatRun run;
  bool recomputing = false;
  /// What the clocks said when last asked; empty after anything changed.
  std::optional<core::Outlook> outlook;
  /// The last outlook whose times ahead were worked out in full: good for a while of readings.
  std::optional<core::Outlook> projected;
  bool foretold = false;  ///< whether `projected` rests on a forecast
};

[[nodiscard]] core::AirOf air_of(const Zones& zones);

/// Whether a coat lay where air or surface changed, at any time.
[[nodiscard]] bool concerns(const AirChange& change, const core::CoatCase& coat);

/// What decides the clocks of one coat besides air and what was learned; its clocks are not made yet.
[[nodiscard]] core::CoatCase case_of(const core::Piece& piece, std::size_t index,
                                     std::shared_ptr<const core::Material> material,
                                     const settings::Settings& settings);
/// The forecast of the zone that a coat lies in at `now`; null when there is none. Good until the next refit.
[[nodiscard]] const core::Forecast* forecast_for(const core::CoatCase& coat, const Zones& zones,
                                                 ForecastBook& forecasts, quantity::Instant now);
/// Everything in the settings that clocks rest on, as text.
[[nodiscard]] std::string clock_settings(const settings::Settings& settings);

/// Thread: loop only. Everything that writes must be called inside a transaction.
class CoatBook {
 public:
  /// Makes the tracked coats those of the pieces in progress. A coat whose case changed goes back to the
  /// newest checkpoint before the earliest difference; the others stay as they are.
  void follow(const core::Workbook& workbook, const settings::Settings& settings, Bookshelf& shelf,
              LearnedBook& learned, ledger::Ledger& ledger);

  /// All that decides the clocks of one coat of a piece, tracked or only thought of; nothing when its edition
  /// cannot be read.
  [[nodiscard]] std::shared_ptr<const core::CoatCase> case_for(const core::Workbook& workbook,
                                                               const core::Piece& piece, std::size_t index,
                                                               const settings::Settings& settings,
                                                               Bookshelf& shelf, LearnedBook& learned,
                                                               ledger::Ledger& ledger);

  /// Air or a surface changed: every coat that lay there goes back to its newest checkpoint before the change
  /// less 2 h, unless it has not come that far.
  void air_changed(const AirChange& change, ledger::Ledger& ledger);

  /// Carries all clocks to the end of the record, `pieces` pieces of air in all at most, storing checkpoints
  /// at midnights UTC. Answers whether there is more to do.
  bool advance(const Zones& zones, ledger::Ledger& ledger, int pieces);

  /// What a coat's clocks say at `now`, kept until the coat's clocks move or `now` passes the next moment at
  /// which something changes.
  /// Times ahead and chances are worked out anew by the newest forecast when they are a quarter of an hour
  /// old, or a small part of the way to the next of them; at once when the coat changed or the first forecast
  /// came.
  const core::Outlook& outlook(quantity::EntryId coat, const Zones& zones, ForecastBook& forecasts,
                               quantity::Instant now);

  [[nodiscard]] const std::map<quantity::EntryId, TrackedCoat>& coats() const { return coats_; }
  [[nodiscard]] const TrackedCoat* find(quantity::EntryId coat) const;
  /// The start of the earliest coat that is tracked: air before that (less what an envelope looks back) is
  /// not needed.
  [[nodiscard]] std::optional<quantity::Instant> earliest() const;

 private:
  [[nodiscard]] std::shared_ptr<const core::SheetClocks> clocks_for(const core::CoatCase& coat);
  void go_back(TrackedCoat& tracked, quantity::EntryId id, quantity::Instant to, ledger::Ledger& ledger);

  std::map<quantity::EntryId, TrackedCoat> coats_;
  /// Coats of one edition, load, strictness, priors and lesson share their clocks' tables.
  struct SharedClocks {
    std::shared_ptr<const core::Material> material;
    core::Load load;
    core::Strictness strictness;
    std::shared_ptr<const core::PriorBook> priors;
    std::vector<core::LearnedShift> learned;
    std::shared_ptr<const core::SheetClocks> clocks;
  };
  std::vector<SharedClocks> shared_;
};

}  // namespace setwell::service
