#pragma once

#include <string>
#include <vector>

#include "daemon/core/review.hpp"

/// A review in words and as what a chart needs. Pure.
namespace setwell::core {

/// One fact for the maker: `topic` is a word or two, `text` a sentence.
struct FactLine {
  std::string topic;
  std::string text;
};
/// All facts of the coat and the one below, in the order in which they are checked after a failure; then how
/// those came out that share mix, air, lot or sheet.
[[nodiscard]] std::vector<FactLine> fact_lines(const CaseFile& file, const Review& review);

/// What was said of this piece, in time order: coats, steps, touches, moves, rotator, defects.
struct EventLine {
  quantity::Instant at;
  std::string text;
};
[[nodiscard]] std::vector<EventLine> event_lines(const CaseFile& file, const Facts& facts);

/// From the coat below (where it is at most a week older) to a week after this one, or to when it was looked
/// at.
struct PictureSpan {
  quantity::Instant from, to;
};
[[nodiscard]] PictureSpan picture_span(const Facts& facts);
/// The air about both coats, at most `most` points, each the most unlike its neighbour; a silence is a point
/// without values.
[[nodiscard]] std::vector<AirStep> picture_course(const Facts& facts, std::size_t most);

/// A stretch of a clock: surely from `from` to `to`, perhaps from `maybe_from` to `maybe_to`.
struct LaneLine {
  std::string name;
  quantity::Instant maybe_from, from, to, maybe_to;
};
[[nodiscard]] std::vector<LaneLine> lane_lines(const Facts& facts);

/// The sheet's cautions and the trade's that belong to what would be done now, each once.
[[nodiscard]] std::vector<std::string> review_cautions(const Review& review);

}  // namespace setwell::core
