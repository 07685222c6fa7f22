#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "tests/shops/shop.hpp"

/// What the records of many coats add up to.
namespace setwell::shops {

/// A telling counts as false when it lies further on the wrong side than the truth's own arithmetic can be
/// off: half a minute or a thousandth of the time. Both answer in minutes by how much; 0 or less: right.
[[nodiscard]] double opened_too_early(const CoatRecord& record);
[[nodiscard]] double closed_too_late(const CoatRecord& record);

/// A way of telling the opening, judged: how often too early, and how long it made the maker wait.
struct Judged {
  int coats = 0;
  int too_early = 0;
  double median_wait_share = 0;  ///< of the true time; infinite where half were never told
};

struct Counts {
  int coats = 0;
  int false_openings = 0;
  int false_comforts = 0;
  int late_until = 0;  ///< "until" at the notice lay behind the true close; the daemon told it earlier then
  int never_opened = 0;
  int touched = 0;  ///< opened by the maker's touch, right touches only
  int false_by_touch = 0;
  int wrongly_touched = 0;
  int false_by_wrong_touch = 0;
  double rate = 0;
  double rate_upper95 = 0;
  double median_wait_share = 0;
  double offered_share = 0;
  double touch_test_only_share = 0;
  Judged five, ten;                        ///< sure openings at 5 and at 10 % scatter
  Judged five_with_touch, ten_with_touch;  ///< with one touch test
  Judged printed, rule_of_thumb;
};

/// `seed` draws the resamples.
[[nodiscard]] Counts count(std::span<const CoatRecord> records, std::uint64_t seed);

/// The same for each part that `part_of` names, in order of name.
struct Part {
  std::string name;
  Counts counts;
};
[[nodiscard]] std::vector<Part> count_by(std::span<const CoatRecord> records, std::uint64_t seed,
                                         const std::function<std::string(const CoatRecord&)>& part_of);

/// The one-sided 95 % upper limit of a share of which `hits` of `trials` were seen (Clopper and Pearson).
[[nodiscard]] double upper_limit(int hits, int trials);

/// How far the expected opening was off, as ln of (expected / true), over those that told one.
struct ExpectedError {
  int coats = 0;
  double median = 0;  ///< of the signed value
  double median_absolute = 0;
  double ninety_absolute = 0;  ///< 90 % are nearer
};
[[nodiscard]] ExpectedError error_at_start(std::span<const CoatRecord> records);
[[nodiscard]] ExpectedError error_at_notice(std::span<const CoatRecord> records);

/// A warning against what was so.
struct Alarms {
  int due = 0, missed = 0, false_alarms = 0, quiet = 0;  ///< quiet: neither due nor told
};
[[nodiscard]] Alarms floor_alarms(std::span<const CoatRecord> records);
[[nodiscard]] Alarms dew_alarms(std::span<const CoatRecord> records);

}  // namespace setwell::shops
