#include "daemon/core/fold.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace setwell::core {
namespace {

using quantity::EntryId;
using quantity::Instant;
using quantity::PieceId;

/// Entries that still count, by the time they happened.
using Standing = std::vector<const Entry*>;

}  // namespace

std::set<EntryId> struck_ids(std::span<const Entry> entries) {
  // From the newest back: when a strike's turn comes, every strike that could name it has been judged, since
  // only a later entry can strike an earlier one.
  Standing strikes;
  for (const Entry& entry : entries) {
    if (std::holds_alternative<Struck>(entry.body)) strikes.push_back(&entry);
  }
  std::sort(strikes.begin(), strikes.end(), [](const Entry* a, const Entry* b) { return a->id > b->id; });
  std::set<EntryId> struck;
  for (const Entry* strike : strikes) {
    const EntryId target = std::get<Struck>(strike->body).entry;
    if (target < strike->id && !struck.contains(strike->id)) struck.insert(target);
  }
  return struck;
}

namespace {

Standing standing_entries(std::span<const Entry> entries) {
  const auto struck = struck_ids(entries);
  Standing standing;
  for (const Entry& entry : entries) {
    if (!struck.contains(entry.id)) standing.push_back(&entry);
  }
  std::sort(standing.begin(), standing.end(), [](const Entry* a, const Entry* b) {
    return std::tie(a->happened, a->id) < std::tie(b->happened, b->id);
  });
  return standing;
}

template <typename Body>
Event<Body> event_of(const Entry& entry, const Body& body) {
  return {entry.id, entry.happened, entry.error, body};
}

/// Decides to which of the pieces that bore an id an entry belongs.
class Bearers {
 public:
  explicit Bearers(std::vector<Piece>& pieces) : pieces_(pieces) {
    for (std::size_t i = 0; i < pieces.size(); ++i)
      by_id_[pieces[i].id].push_back(i);
  }

  /// The piece an entry is about, or nothing.
  [[nodiscard]] Piece* of(const Entry& entry) {
    Piece* begun = newest(entry, [&](const Piece& piece) { return piece.begun <= entry.happened; });
    if (begun != nullptr && (!begun->ended || begun->ended->happened >= entry.happened)) return begun;
    Piece* later = newest(entry, [&](const Piece& piece) {
      return piece.begun > entry.happened && piece.begun <= entry.said &&
             (!piece.ended || piece.ended->happened >= entry.said);
    });
    return later != nullptr ? later : begun;
  }

  /// The piece an ending ends: like `of`, but never one that has ended already, and of one that went and one
  /// that was made at the same moment the older.
  [[nodiscard]] Piece* to_end(const Entry& entry) {
    Piece* begun = newest(entry, [&](const Piece& piece) { return piece.begun < entry.happened; });
    if (begun != nullptr && !begun->ended) return begun;
    Piece* just_begun =
        newest(entry, [&](const Piece& piece) { return piece.begun == entry.happened && !piece.ended; });
    if (just_begun != nullptr) return just_begun;
    return newest(entry, [&](const Piece& piece) {
      return piece.begun > entry.happened && piece.begun <= entry.said && !piece.ended;
    });
  }

 private:
  template <typename Condition>
  Piece* newest(const Entry& entry, Condition condition) {
    const auto found = by_id_.find(entry.piece);
    if (found == by_id_.end()) return nullptr;
    for (auto index = found->second.rbegin(); index != found->second.rend(); ++index) {
      if (condition(pieces_[*index])) return &pieces_[*index];
    }
    return nullptr;
  }

  std::vector<Piece>& pieces_;
  std::map<PieceId, std::vector<std::size_t>> by_id_;
};

std::vector<Piece> pieces_made(const Standing& standing) {
  std::vector<Piece> pieces;
  for (const Entry* entry : standing) {
    const auto* made = std::get_if<PieceMade>(&entry->body);
    if (made == nullptr) continue;
    Piece piece;
    piece.made_by = entry->id;
    piece.id = entry->piece;
    piece.made = *made;
    piece.begun = entry->happened;
    pieces.push_back(std::move(piece));
  }
  return pieces;
}

void end_pieces(const Standing& standing, Bearers& bearers) {
  for (const Entry* entry : standing) {
    const auto* end = std::get_if<PieceEnded>(&entry->body);
    if (end == nullptr) continue;
    if (Piece* piece = bearers.to_end(*entry)) piece->ended = event_of(*entry, *end);
  }
}

/// Puts one entry's body where it belongs.
class Filing {
 public:
  Filing(Workbook& book, Bearers& bearers) : book_(book), bearers_(bearers) {}

  void file(const Entry& entry) {
    std::visit([&](const auto& body) { put(entry, body); }, entry.body);
  }

 private:
  void put(const Entry& entry, const CoatMade& body) {
    if (Piece* piece = bearers_.of(entry)) {
      piece->coats.push_back({entry.id, 0, entry.happened, entry.error, body});
    }
  }
  void put(const Entry& entry, const StepDone& body) {
    if (Piece* piece = bearers_.of(entry)) piece->steps.push_back(event_of(entry, body));
  }
  void put(const Entry& entry, const TouchTested& body) {
    if (body.witness_of) {
      if (Batch* batch = batch_at(*body.witness_of, entry.happened)) {
        batch->witness.push_back(event_of(entry, body));
      }
    } else if (Piece* piece = bearers_.of(entry)) {
      piece->touches.push_back(event_of(entry, body));
    }
  }
  void put(const Entry& entry, const PieceMoved& body) {
    if (Piece* piece = bearers_.of(entry)) piece->stays.push_back({entry.happened, body.zone, body.place});
  }
  void put(const Entry& entry, const HandReading& body) {
    if (body.zone) book_.air_readings.push_back(event_of(entry, body));
    if (entry.piece.empty()) return;
    if (Piece* piece = bearers_.of(entry)) piece->surface_readings.push_back(event_of(entry, body));
  }
  void put(const Entry& entry, const DefectSeen& body) {
    if (Piece* piece = bearers_.of(entry)) piece->defects.push_back(event_of(entry, body));
  }
  void put(const Entry& entry, const RotatorChanged& body) {
    book_.rotators.push_back(event_of(entry, body));
  }
  void put(const Entry& entry, const LotOpened& body) { book_.lots.push_back(event_of(entry, body)); }
  void put(const Entry&, const NoticeSeen& body) { book_.notices_seen.push_back(body.notice); }
  // Made before everything else is filed.
  void put(const Entry&, const BatchMixed&) {}
  void put(const Entry&, const PieceMade&) {}
  void put(const Entry&, const PieceEnded&) {}
  void put(const Entry&, const Struck&) {}

  /// The newest batch of that id mixed by then; a test logged a little early goes to the first one.
  Batch* batch_at(const quantity::BatchId& id, Instant at) {
    Batch* found = nullptr;
    for (Batch& batch : book_.batches) {
      if (batch.made.batch == id && (found == nullptr || batch.mixed <= at)) found = &batch;
    }
    return found;
  }

  Workbook& book_;
  Bearers& bearers_;
};

std::vector<Batch> batches_mixed(const Standing& standing) {
  std::vector<Batch> batches;
  for (const Entry* entry : standing) {
    if (const auto* made = std::get_if<BatchMixed>(&entry->body)) {
      batches.push_back({entry->id, entry->happened, entry->error, *made, {}});
    }
  }
  return batches;
}

/// Where a coat was made; nothing where it does not say.
Stay workplace(const Coat& coat) {
  return {coat.made.passes > 1 ? coat.made.first_pass : coat.happened, coat.made.zone, {}};
}

/// Joins what coats and moves say about where it is into one list. A coat that is made in the piece's zone
/// moves it nowhere; at one moment a coat made elsewhere holds over a move, for it is where the work was
/// done.
void settle_stays(Piece& piece) {
  struct Said {
    Stay stay;
    bool by_coat = false;
  };
  std::vector<Said> all;
  for (const Stay& moved : piece.stays)
    all.push_back({moved, false});
  for (const Coat& coat : piece.coats) {
    if (!coat.made.zone.empty()) all.push_back({workplace(coat), true});
  }
  // Moves were filed first, coats follow.
  std::stable_sort(all.begin(), all.end(),
                   [](const Said& a, const Said& b) { return a.stay.since < b.stay.since; });
  std::vector<Stay> joined;
  for (const auto& [stay, by_coat] : all) {
    const bool in_zone = !joined.empty() && joined.back().zone == stay.zone;
    if (in_zone && (by_coat || joined.back().place == stay.place)) continue;
    if (!joined.empty() && joined.back().since == stay.since) joined.pop_back();
    if (!joined.empty() && joined.back().zone == stay.zone && joined.back().place == stay.place) continue;
    joined.push_back(stay);
  }
  piece.stays = std::move(joined);
}

void settle(Piece& piece) {
  int number = 0;
  for (Coat& coat : piece.coats)
    coat.number = ++number;
  settle_stays(piece);
}

}  // namespace

const Piece* Workbook::in_progress(const quantity::PieceId& id) const {
  const auto found = std::find_if(pieces.rbegin(), pieces.rend(),
                                  [&](const Piece& piece) { return piece.id == id && piece.in_progress(); });
  return found == pieces.rend() ? nullptr : &*found;
}

const Batch* Workbook::batch(const quantity::BatchId& id) const {
  const auto found = std::find_if(batches.rbegin(), batches.rend(),
                                  [&](const Batch& candidate) { return candidate.made.batch == id; });
  return found == batches.rend() ? nullptr : &*found;
}

Workbook fold(std::span<const Entry> entries) {
  const Standing standing = standing_entries(entries);
  Workbook book;
  book.pieces = pieces_made(standing);
  book.batches = batches_mixed(standing);
  Bearers bearers(book.pieces);
  end_pieces(standing, bearers);
  Filing filing(book, bearers);
  for (const Entry* entry : standing)
    filing.file(*entry);
  for (Piece& piece : book.pieces)
    settle(piece);
  return book;
}

}  // namespace setwell::core
