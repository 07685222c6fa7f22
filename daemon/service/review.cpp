
#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/review_answer.hpp"
#include "daemon/core/review_mates.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/review_case.hpp"

/// Looking back over a coat that went wrong.
namespace setwell::service {

using quantity::Instant;
using quantity::Result;

namespace {

Result<std::vector<core::Sign>> signs_of(const std::vector<std::string>& words) {
  std::vector<core::Sign> signs;
  for (const auto& word : words) {
    const auto sign = core::sign_from(word);
    if (!sign)
      return quantity::invalid(fmt::format("“{}” is no sign; `setwell defect --help` lists them", word));
    signs.push_back(*sign);
  }
  return signs;
}

/// The same piece in the case's own copy.
const core::Piece& copy_of(const core::CaseFile& file, const core::Piece& piece) {
  return *std::find_if(file.workbook.pieces.begin(), file.workbook.pieces.end(),
                       [&](const core::Piece& one) { return one.made_by == piece.made_by; });
}

/// A coat is looked at up to when it was seen to be wrong, else up to now.
Instant seen_at(const core::Piece& piece, const core::Coat& coat, Instant now) {
  std::optional<Instant> seen;
  for (const auto& defect : piece.defects) {
    const bool meant = !defect.body.coat || defect.body.coat == coat.number;
    if (meant && defect.happened >= coat.happened)
      seen = std::max(seen.value_or(defect.happened), defect.happened);
  }
  return std::min(seen.value_or(now), now);
}

}  // namespace

Answered<api::ReviewAnswer> review(Workshop& workshop, const api::ReviewParams& params, Instant now) {
  const auto piece = piece_ever(workshop, params.piece);
  if (!piece) return piece.error();
  const auto subject = core::subject_of(**piece, params.coat);
  if (!subject) return subject.error();
  auto signs = signs_of(params.signs);
  if (!signs) return signs.error();
  const auto& coat = (*piece)->coats[subject->coat];
  const auto& first = (*piece)->coats[subject->coat == 0 ? 0 : subject->coat - 1];
  const auto file = case_of(workshop, first.made.first_pass - first.error, seen_at(**piece, coat, now));
  const auto& copy = copy_of(file, **piece);
  if (signs->empty()) *signs = core::signs_on(copy, copy.coats[subject->coat]);
  auto answer = api::review_answer(file, {&copy, subject->coat}, std::move(*signs));
  answer.rehearsal = workshop.rehearsal;
  return answer;
}

}  // namespace setwell::service
