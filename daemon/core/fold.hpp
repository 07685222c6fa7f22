#pragma once

#include <set>
#include <span>
#include <vector>

#include "daemon/core/entry.hpp"

namespace setwell::core {

/// A coat as it stands after every amendment. Its identity is its entry's id; its number is its rank among
/// the unstruck coats of the piece by time.
struct Coat {
  quantity::EntryId id;
  int number = 0;
  quantity::Instant happened;
  quantity::Span error{0};
  CoatMade made;
  friend bool operator==(const Coat&, const Coat&) = default;
};

/// Anything else that was said about a piece, in time order.
template <typename Body>
struct Event {
  quantity::EntryId id;
  quantity::Instant happened;
  quantity::Span error{0};
  Body body;
  friend bool operator==(const Event&, const Event&) = default;
};

/// From `since` on the piece is in this zone.
struct Stay {
  quantity::Instant since;
  quantity::ZoneId zone;
  std::string place{};  ///< of the zone's; empty where nobody said
  friend bool operator==(const Stay&, const Stay&) = default;
};

/// One piece. A maker's id may be used again once its piece has gone, so the identity is the entry that made
/// it.
struct Piece {
  quantity::EntryId made_by;
  quantity::PieceId id;
  PieceMade made;
  quantity::Instant begun;
  std::vector<Coat> coats;                  ///< by time
  std::vector<Event<StepDone>> steps;       ///< by time
  std::vector<Event<TouchTested>> touches;  ///< by time; on this piece itself
  std::vector<Stay> stays;                  ///< by time; coats and moves both say where a piece is
  std::vector<Event<HandReading>> surface_readings;
  std::vector<Event<DefectSeen>> defects;
  std::optional<Event<PieceEnded>> ended;
  [[nodiscard]] bool in_progress() const { return !ended.has_value(); }
  friend bool operator==(const Piece&, const Piece&) = default;
};

struct Batch {
  quantity::EntryId entry;
  quantity::Instant mixed;
  quantity::Span error{0};
  BatchMixed made;
  std::vector<Event<TouchTested>> witness;
  friend bool operator==(const Batch&, const Batch&) = default;
};

/// All that the entries say together.
struct Workbook {
  std::vector<Piece> pieces;  ///< in the order they were made
  std::vector<Batch> batches;
  std::vector<Event<RotatorChanged>> rotators;
  std::vector<Event<HandReading>> air_readings;
  std::vector<Event<LotOpened>> lots;
  std::vector<std::int64_t> notices_seen;

  [[nodiscard]] const Piece* in_progress(const quantity::PieceId& id) const;
  [[nodiscard]] const Batch* batch(const quantity::BatchId& id) const;
  friend bool operator==(const Workbook&, const Workbook&) = default;
};

/// Folds entries, given in any order, into what stands now. Struck entries count for nothing (a strike may
/// itself be struck; one that names a later entry strikes nothing). An entry about piece P at time t belongs
/// to the newest piece P begun by then, unless that had ended: then, like an entry from before any P was
/// begun, to the P in progress when it was said. Entries about a piece that does not exist are left out:
/// whoever adds an entry checks that first. Pure; the result does not depend on the order of `entries`.
[[nodiscard]] Workbook fold(std::span<const Entry> entries);

/// The entries that strikes take out of account, by the same rules.
[[nodiscard]] std::set<quantity::EntryId> struck_ids(std::span<const Entry> entries);

}  // namespace setwell::core
