#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/review_case.hpp"
#include "daemon/core/review_words.hpp"
#include "sensors/quantity/error.hpp"

/// Other coats that share something with one: its batch, its lot, its air, its sheet. Pure.
namespace setwell::core {

/// The piece and coat that a person names: a coat's number, or without one the coat of the newest defect, or
/// the newest coat. Fails with a sentence.
[[nodiscard]] quantity::Result<Subject> subject_of(const Piece& piece, std::optional<int> coat);

/// How a coat came out, as far as anybody said.
enum class Outcome { unknown, good, bad };
[[nodiscard]] std::string_view word(Outcome outcome);

/// Bad: a defect was logged on it with one of `signs` (any sign where empty), or, where the signs are of
/// softness, it still printed a day or the sheet's own time after. Good: felt firm or hard, coated over, or
/// shipped, and no such defect.
[[nodiscard]] Outcome outcome_of(const CaseFile& file, const Piece& piece, const Coat& coat,
                                 const std::vector<Sign>& signs);
/// The same of a batch's witness; only softness shows there.
[[nodiscard]] Outcome witness_outcome(const CaseFile& file, const Batch& batch);
/// Signs that say the film is not hard.
[[nodiscard]] bool of_softness(const std::vector<Sign>& signs);

/// The signs logged on a coat: those defects that name it, or name none while it was the newest.
[[nodiscard]] std::vector<Sign> signs_on(const Piece& piece, const Coat& coat);

/// The manufacturer's numbers in a coat: its own and those of its batch.
[[nodiscard]] std::vector<std::string> lots_of(const CaseFile& file, const Coat& coat);

}  // namespace setwell::core
