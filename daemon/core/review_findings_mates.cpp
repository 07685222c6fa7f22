#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/review_findings.hpp"
#include "daemon/core/review_mates.hpp"

/// What other pieces say: batch, air, day, lot, sheet elsewhere.
namespace setwell::core {

using quantity::Instant;

namespace {

constexpr auto kSameMix = std::chrono::hours(6), kSameDay = std::chrono::hours(24),
               kSameAir = std::chrono::hours(72);

/// Good and bad ones of one kind of relation, with names to tell.
struct Tally {
  int good = 0, bad = 0;
  std::string good_names, bad_names;
  void add(Outcome outcome, const std::string& name) {
    if (outcome == Outcome::unknown) return;
    auto& names = outcome == Outcome::good ? good_names : bad_names;
    (outcome == Outcome::good ? good : bad)++;
    names += (names.empty() ? "" : ", ") + name;
  }
  [[nodiscard]] double bad_value() const { return bad > 0 ? 1 : good > 0 ? -1 : 0; }
  [[nodiscard]] double good_value() const { return good > 0 ? 1 : bad > 0 ? -1 : 0; }
  [[nodiscard]] std::string text(std::string_view what) const {
    std::string text(what);
    if (good > 0) text += ": well " + good_names;
    if (bad > 0) text += (good > 0 ? "; " : ": ") + std::string("went wrong ") + bad_names;
    return text;
  }
};

class Compare {
 public:
  Compare(const CaseFile& file, const Facts& facts) : file_(file), facts_(facts), mine_(*facts.coat.coat) {
    for (const auto& piece : file.workbook.pieces) {
      for (std::size_t i = 0; i < piece.coats.size(); ++i)
        look_at(piece, i);
    }
    for (const auto& batch : file.workbook.batches)
      look_at(batch);
  }

  void tell(Findings& findings) const {
    findings.set(Finding::batch_mate_bad, batch_.bad_value(), batch_.text("the same mix"));
    findings.set(Finding::batch_mate_good, batch_.good_value(), batch_.text("the same mix"));
    // One other mix may be wrong by chance; two are seldom.
    findings.set(Finding::other_batch_bad,
                 others_.bad > 1    ? 1
                 : others_.bad > 0  ? 0.7
                 : others_.good > 0 ? -1
                                    : 0,
                 others_.text("other mixes in the same air"));
    findings.set(Finding::other_batch_good, others_.good_value(),
                 others_.text("other mixes in the same air"));
    findings.set(Finding::other_zone_good, elsewhere_.good_value(),
                 elsewhere_.text("the same mix in other air"));
    findings.set(Finding::other_material_bad, materials_.bad_value(),
                 materials_.text("other materials there that day"));
    findings.set(Finding::lot_bad, lot_.bad_value(), lot_.text("the same lot at other times"));
    findings.set(Finding::lot_good_elsewhere, lot_.good_value(), lot_.text("the same lot at other times"));
    findings.set(Finding::same_top_good_elsewhere, other_base_.good_value(),
                 other_base_.text("the same material on another base"));
    findings.set(Finding::other_top_good_here, other_top_.good_value(),
                 other_top_.text("another material on such a base"));
    tell_order(findings);
  }

 private:
  void look_at(const Piece& piece, std::size_t index) {
    const auto& coat = piece.coats[index];
    if (coat.id == mine_.id || piece.made_by == facts_.coat.piece->made_by) return;
    const Outcome outcome = outcome_of(file_, piece, coat, facts_.signs);
    const std::string name = piece.id.text();
    const bool near = apart(coat) <= kSameAir;
    const bool same_zone = coat.made.zone == mine_.made.zone;
    if (same_mix(coat)) {
      (same_zone ? batch_ : elsewhere_).add(outcome, name);
      order(coat, outcome);
    } else if (near && same_zone && same_chemistry(coat)) {
      others_.add(outcome, name);
    }
    if (apart(coat) <= kSameDay && same_zone && coat.made.sheet != mine_.made.sheet)
      materials_.add(outcome, name);
    if (!same_mix(coat) && share_a_lot(coat) && (apart(coat) > kSameMix || !same_zone))
      lot_.add(outcome, name);
    look_at_bases(piece, index, outcome);
  }

  void look_at_bases(const Piece& piece, std::size_t index, Outcome outcome) {
    const auto& coat = piece.coats[index];
    const auto base = index == 0 ? quantity::SheetId() : piece.coats[index - 1].made.sheet;
    const auto mine = facts_.below ? facts_.below->coat->made.sheet : quantity::SheetId();
    if (mine.empty()) return;
    if (coat.made.sheet == mine_.made.sheet && base != mine && apart(coat) <= kSameAir &&
        coat.made.zone == mine_.made.zone)
      other_base_.add(outcome, piece.id.text());
    if (coat.made.sheet != mine_.made.sheet && coat.made.sheet != mine && base == mine)
      other_top_.add(outcome, piece.id.text());
  }

  void look_at(const Batch& batch) {
    const Outcome outcome = of_softness(facts_.signs) ? witness_outcome(file_, batch) : Outcome::unknown;
    if (mine_.made.batch == batch.made.batch) {
      batch_.add(outcome, "its witness");
    } else if (batch.made.zone == mine_.made.zone &&
               std::chrono::abs(batch.mixed - mine_.made.first_pass) <= kSameAir) {
      others_.add(outcome, "the witness of " + batch.made.batch.text());
    }
  }

  /// Earlier ones well and later ones not is what time does to a mix.
  void order(const Coat& coat, Outcome outcome) {
    const bool earlier = coat.made.last_pass < mine_.made.last_pass;
    if (outcome == Outcome::good) (earlier ? earlier_good_ : later_good_)++;
    if (outcome == Outcome::bad) (earlier ? earlier_bad_ : later_bad_)++;
  }

  void tell_order(Findings& findings) const {
    const bool known = earlier_good_ + later_good_ + earlier_bad_ + later_bad_ > 0;
    if (!known) return;
    const bool last = earlier_good_ > 0 && later_good_ == 0;
    const bool not_time = later_good_ > 0 || (earlier_bad_ > 0 && earlier_good_ == 0);
    findings.set(Finding::last_of_batch,
                 last       ? 1
                 : not_time ? -1
                            : 0,
                 fmt::format("of the batch, coated before it: {} well, {} not; after it: {} well, {} not",
                             earlier_good_, earlier_bad_, later_good_, later_bad_));
  }

  [[nodiscard]] quantity::Span apart(const Coat& coat) const {
    return std::chrono::abs(coat.made.first_pass - mine_.made.first_pass);
  }
  /// One batch, or one can within hours.
  [[nodiscard]] bool same_mix(const Coat& coat) const {
    if (coat.made.batch || mine_.made.batch) return coat.made.batch == mine_.made.batch;
    return coat.made.sheet == mine_.made.sheet && coat.made.lot == mine_.made.lot && apart(coat) <= kSameMix;
  }
  [[nodiscard]] bool same_chemistry(const Coat& coat) const {
    const auto* other = file_.material(coat.made.edition);
    return coat.made.sheet == mine_.made.sheet || (other != nullptr && facts_.coat.material != nullptr &&
                                                   other->family == facts_.coat.material->family);
  }
  [[nodiscard]] bool share_a_lot(const Coat& coat) const {
    const auto theirs = lots_of(file_, coat);
    const auto mine = lots_of(file_, mine_);
    return coat.made.sheet == mine_.made.sheet && std::any_of(mine.begin(), mine.end(), [&](const auto& lot) {
             return std::find(theirs.begin(), theirs.end(), lot) != theirs.end();
           });
  }

  const CaseFile& file_;
  const Facts& facts_;
  const Coat& mine_;
  Tally batch_, others_, elsewhere_, materials_, lot_, other_base_, other_top_;
  int earlier_good_ = 0, later_good_ = 0, earlier_bad_ = 0, later_bad_ = 0;
};

}  // namespace

void find_in_mates(const CaseFile& file, const Facts& facts, Findings& findings) {
  Compare(file, facts).tell(findings);
}

}  // namespace setwell::core
