#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sensors/quantity/error.hpp"
#include "sensors/quantity/ids.hpp"

/// Pieces as people name them.
namespace setwell::core {

/// No longer than this, so that a label can carry it.
inline constexpr std::size_t kPieceIdLongest = 40;
/// No range names more pieces than this: a slip of the finger should not make a thousand.
inline constexpr std::size_t kRangeLongest = 200;

/// A piece's id: letters and digits of ASCII, `-`, `_` and `.`, beginning with a letter or a digit, 1 to 40
/// characters, without `..` (a range). Answers `invalid` with the reason.
[[nodiscard]] quantity::Result<quantity::PieceId> piece_id(std::string_view text);

/// `fern-01..06` → fern-01 … fern-06, also `fern-01..fern-06`; a name without `..` is itself. A leading zero
/// keeps the width. Answers `invalid` for what is no range, runs backwards or is longer than kRangeLongest.
[[nodiscard]] quantity::Result<std::vector<std::string>> expand_range(std::string_view text);

/// The piece among `in_progress` that a name means: an exact id beats everything, else the only one it
/// begins. Pass pieces in progress only, so that no prefix matches one already gone. Answers `not_found`, or
/// `refused` with the candidates when several begin so.
[[nodiscard]] quantity::Result<quantity::PieceId> resolve_piece(
    std::string_view text, std::span<const quantity::PieceId> in_progress);

/// All the pieces that a list of names and ranges means, in the order said, or the first fault. Names out of
/// a range must be exact. Naming a piece twice is refused.
[[nodiscard]] quantity::Result<std::vector<quantity::PieceId>> resolve_pieces(
    std::span<const std::string> texts, std::span<const quantity::PieceId> in_progress);

}  // namespace setwell::core
