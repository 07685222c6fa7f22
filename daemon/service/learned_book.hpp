#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/core/touch_age.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/service/bookshelf.hpp"
#include "daemon/service/sensor_book.hpp"
#include "daemon/settings/settings.hpp"

/// What this shop's touch tests have taught, sheet by sheet.
namespace setwell::service {

/// A coat that was touched before the next went on, and its ages at each touch.
struct TouchedCoat {
  std::shared_ptr<const core::CoatCase> coat;
  quantity::EntryId piece;
  std::string lot;
  /// It lay in a heated zone before a touch: what it teaches does not hold for rooms.
  bool heated = false;
  std::vector<core::AgedTouch> touches;
  std::string rests_on;  ///< fingerprint of all that decides the ages but the air
  bool aged = false;     ///< `touches` hold their ages
};

/// A cache over entries, editions and readings: ages are kept in the ledger's memos so that old air need not
/// be read again, and are worked out anew when an entry, a setting or a reading from before the touch
/// changes. A coat's lesson rests on tests made before it was made, so no later test moves what was told of
/// it. Thread: loop only. What writes must be called inside a transaction.
class LearnedBook {
 public:
  /// Looks up which coats of all pieces, gone ones too, were touched.
  void follow(const core::Workbook& workbook, const settings::Settings& settings, Bookshelf& shelf,
              ledger::Ledger& ledger);
  /// From when on air is needed to work out ages that are not known; nothing when all are.
  [[nodiscard]] std::optional<quantity::Instant> air_needed_from() const;
  /// Works out the ages that are not known.
  void work_out(const Zones& zones, ledger::Ledger& ledger);
  /// Answers whether an age has to be worked out anew.
  bool air_changed(const AirChange& change);

  /// What was learned for one coat before it was made.
  [[nodiscard]] std::vector<core::LearnedShift> shifts_for(const core::CoatCase& coat,
                                                           const std::string& lot);
  /// What has been learned about one clock of a sheet by `now`.
  [[nodiscard]] core::Lesson lesson(const core::Material& material, core::TestedClock clock, double scatter,
                                    quantity::Instant now) const;

 private:
  [[nodiscard]] std::vector<core::TestedCoat> tested(const core::Material& material, core::TestedClock clock,
                                                     quantity::Instant before) const;

  std::vector<TouchedCoat> touched_;
  /// Lessons cost some milliseconds each: those of coats whose tests did not change are kept.
  struct Kept {
    std::vector<core::TestedCoat> from;
    double scatter = 0;
    core::Lesson lesson;
  };
  std::map<std::pair<std::string, quantity::Instant>, Kept> kept_;
};

/// The lot a coat was made of: its batch's, its own, else what was last opened of its sheet; empty when none
/// is known.
[[nodiscard]] std::string lot_of(const core::Workbook& workbook, const core::Coat& coat);

}  // namespace setwell::service
