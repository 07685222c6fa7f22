#include "daemon/core/review_mates.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/review_facts.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

bool hard_word(Touch touch) {
  return touch == Touch::firm || touch == Touch::hard || touch == Touch::powders;
}

bool share_a_sign(const std::vector<Sign>& a, const std::vector<Sign>& b) {
  if (of_softness(a) && of_softness(b)) return true;
  return std::any_of(a.begin(), a.end(),
                     [&](Sign sign) { return std::find(b.begin(), b.end(), sign) != b.end(); });
}

/// From when on softness is no longer to be expected.
Instant due(const CaseFile& file, quantity::EditionId edition, Instant made) {
  const auto* material = file.material(edition);
  auto hours = quantity::Hours(24);
  if (material != nullptr) {
    if (const auto stated = stated_time(*material, Milestone::tack_free)) hours = *stated * 1.2;
  }
  return made + std::chrono::round<quantity::Span>(hours);
}

}  // namespace

std::string_view word(Outcome outcome) {
  switch (outcome) {
    case Outcome::good:
      return "well";
    case Outcome::bad:
      return "went-wrong";
    case Outcome::unknown:
      break;
  }
  return "not-known";
}

bool of_softness(const std::vector<Sign>& signs) {
  return std::any_of(signs.begin(), signs.end(), [](Sign sign) {
    return sign == Sign::soft || sign == Sign::never_dried || sign == Sign::sticky_spots ||
           sign == Sign::soft_when_hot;
  });
}

std::vector<Sign> signs_on(const Piece& piece, const Coat& coat) {
  std::vector<Sign> signs;
  for (const auto& defect : piece.defects) {
    const Coat* newest = nullptr;
    for (const auto& other : piece.coats) {
      if (other.happened <= defect.happened) newest = &other;
    }
    const bool named = defect.body.coat == coat.number;
    const bool meant = !defect.body.coat && newest != nullptr && newest->id == coat.id;
    if (!named && !meant) continue;
    for (const auto& text : defect.body.signs) {
      const auto sign = sign_from(text);
      if (sign && std::find(signs.begin(), signs.end(), *sign) == signs.end()) signs.push_back(*sign);
    }
  }
  return signs;
}

Outcome outcome_of(const CaseFile& file, const Piece& piece, const Coat& coat,
                   const std::vector<Sign>& signs) {
  const auto logged = signs_on(piece, coat);
  if (signs.empty() ? !logged.empty() : share_a_sign(logged, signs)) return Outcome::bad;
  const auto next = std::find_if(piece.coats.begin(), piece.coats.end(),
                                 [&](const Coat& other) { return other.number == coat.number + 1; });
  const Instant until = next == piece.coats.end() ? Instant::max() : next->made.first_pass;
  std::optional<Touch> last;
  Instant felt;
  for (const auto& touch : piece.touches) {
    if (touch.happened < coat.happened || touch.happened > until || touch.happened > file.now) continue;
    last = touch.body.touch;
    felt = touch.happened;
  }
  const bool soft_signs = signs.empty() || of_softness(signs);
  if (last && !hard_word(*last) && soft_signs && felt >= due(file, coat.made.edition, coat.made.last_pass))
    return Outcome::bad;
  if (last && hard_word(*last)) return Outcome::good;
  const bool shipped = piece.ended && piece.ended->body.ending == Ending::shipped;
  if (shipped || (next != piece.coats.end() && logged.empty())) return Outcome::good;
  return Outcome::unknown;
}

Outcome witness_outcome(const CaseFile& file, const Batch& batch) {
  if (batch.witness.empty()) return Outcome::unknown;
  const auto& last = batch.witness.back();
  if (hard_word(last.body.touch)) return Outcome::good;
  return last.happened >= due(file, batch.made.edition, batch.mixed) ? Outcome::bad : Outcome::unknown;
}

std::vector<std::string> lots_of(const CaseFile& file, const Coat& coat) {
  std::vector<std::string> lots;
  const auto add = [&](const std::optional<std::string>& lot) {
    if (lot && !lot->empty()) lots.push_back(*lot);
  };
  add(coat.made.lot);
  const auto* batch = coat.made.batch ? file.workbook.batch(*coat.made.batch) : nullptr;
  if (batch != nullptr) {
    add(batch->made.lot_a);
    add(batch->made.lot_b);
  }
  return lots;
}

quantity::Result<Subject> subject_of(const Piece& piece, std::optional<int> coat) {
  if (piece.coats.empty()) return quantity::refused(piece.id.text() + " has no coat to look back on");
  if (!coat) {
    for (auto defect = piece.defects.rbegin(); defect != piece.defects.rend() && !coat; ++defect)
      coat = defect->body.coat;
  }
  if (!coat && !piece.defects.empty()) {
    const auto seen = piece.defects.back().happened;
    for (const auto& one : piece.coats) {
      if (one.happened <= seen) coat = one.number;
    }
  }
  const int number = coat.value_or(piece.coats.back().number);
  for (std::size_t i = 0; i < piece.coats.size(); ++i) {
    if (piece.coats[i].number == number) return Subject{&piece, i};
  }
  return quantity::not_found(
      fmt::format("{} has no coat {}; it has {}", piece.id.text(), number, piece.coats.size()));
}

}  // namespace setwell::core
