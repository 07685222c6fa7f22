#include "tests/shops/count.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "sensors/room/random.hpp"

namespace setwell::shops {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr int kResamples = 2000;

double slack(double minutes) {
  return std::max(0.5, minutes / 1000);
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5);
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(at), values.end());
  return values[at];
}

/// Chance of at most `hits` of `trials` at a share.
double chance_of_at_most(int hits, int trials, double share) {
  double sum = 0;
  for (int i = 0; i <= hits; ++i) {
    sum += std::exp(std::lgamma(trials + 1.0) - std::lgamma(i + 1.0) - std::lgamma(trials - i + 1.0) +
                    i * std::log(share) + (trials - i) * std::log1p(-share));
  }
  return sum;
}

bool is_false(const CoatRecord& record) {
  return opened_too_early(record) > 0 || closed_too_late(record) > 0;
}

/// A judgement of openings as they come in.
class Judge {
 public:
  void add(const CoatRecord& record, std::optional<double> opened) {
    ++judged_.coats;
    if (opened && *opened < record.true_open - slack(record.true_open)) ++judged_.too_early;
    waits_.push_back(opened ? (*opened - record.true_open) / record.true_open : kNever);
  }
  [[nodiscard]] Judged done() {
    judged_.median_wait_share = quantile(waits_, 0.5);
    return judged_;
  }

 private:
  Judged judged_;
  std::vector<double> waits_;
};

std::optional<double> earliest(const std::optional<double>& a, const std::optional<double>& b) {
  if (!a || !b) return a ? a : b;
  return std::min(*a, *b);
}

/// The limit over sheets: whole sheets are drawn anew, and no less than the coats alone would allow.
double upper_over_sheets(std::span<const CoatRecord> records, std::uint64_t seed) {
  struct Sheet {
    int coats = 0, wrong = 0;
  };
  std::map<std::string, Sheet> by_name;
  int wrong = 0;
  for (const CoatRecord& record : records) {
    Sheet& sheet = by_name[record.sheet];
    ++sheet.coats;
    sheet.wrong += is_false(record) ? 1 : 0;
    wrong += is_false(record) ? 1 : 0;
  }
  std::vector<Sheet> sheets;
  for (const auto& [name, sheet] : by_name)
    sheets.push_back(sheet);
  room::Random random(seed);
  std::vector<double> rates;
  for (int i = 0; i < kResamples && sheets.size() > 1; ++i) {
    Sheet all;
    for (std::size_t drawn = 0; drawn < sheets.size(); ++drawn) {
      const Sheet& sheet = sheets[random.between(0, sheets.size() - 1)];
      all.coats += sheet.coats;
      all.wrong += sheet.wrong;
    }
    rates.push_back(static_cast<double>(all.wrong) / all.coats);
  }
  return std::max(quantile(rates, 0.95), upper_limit(wrong, static_cast<int>(records.size())));
}

/// The shares of windows that were offered: pieces that nobody touches, with enough of a window to offer.
class Offers {
 public:
  void add(const CoatRecord& record) {
    if (record.touched || record.waking_window < record.window_least) return;
    ++windows_;
    if (record.waking_offered >= record.window_least) {
      ++offered_;
    } else if (record.waking_test_offered >= record.window_least) {
      ++test_only_;
    }
  }
  [[nodiscard]] double offered() const { return share(offered_); }
  [[nodiscard]] double test_only() const { return share(test_only_); }

 private:
  [[nodiscard]] double share(int part) const {
    return windows_ == 0 ? 0 : static_cast<double>(part) / windows_;
  }
  int windows_ = 0, offered_ = 0, test_only_ = 0;
};

void count_touch(const CoatRecord& record, Counts& counts) {
  if (!record.opened_by_touch) return;
  const bool early = *record.opened_by_touch < record.true_open - slack(record.true_open);
  (record.wrong_touches ? counts.wrongly_touched : counts.touched) += 1;
  if (early) (record.wrong_touches ? counts.false_by_wrong_touch : counts.false_by_touch) += 1;
}

void count_one(const CoatRecord& record, Counts& counts) {
  ++counts.coats;
  counts.false_openings += opened_too_early(record) > 0 ? 1 : 0;
  counts.false_comforts += closed_too_late(record) > 0 ? 1 : 0;
  const bool late = record.until_at_notice && record.true_close &&
                    *record.until_at_notice > *record.true_close + slack(*record.true_close);
  counts.late_until += late ? 1 : 0;
  counts.never_opened += !record.told_at && !record.opened_by_touch ? 1 : 0;
  count_touch(record, counts);
}

ExpectedError error_of(std::span<const CoatRecord> records, std::optional<double> CoatRecord::*expected) {
  std::vector<double> signed_errors, errors;
  for (const CoatRecord& record : records) {
    const auto& told = record.*expected;
    if (!told || *told <= 0) continue;
    signed_errors.push_back(std::log(*told / record.true_open));
    errors.push_back(std::fabs(signed_errors.back()));
  }
  return {static_cast<int>(errors.size()), quantile(signed_errors, 0.5), quantile(errors, 0.5),
          quantile(errors, 0.9)};
}

Alarms alarms_of(std::span<const CoatRecord> records, bool CoatRecord::*due, bool CoatRecord::*told) {
  Alarms alarms;
  for (const CoatRecord& record : records) {
    if (record.never_logged) continue;
    if (record.*due) {
      ++alarms.due;
      alarms.missed += record.*told ? 0 : 1;
    } else {
      ++(record.*told ? alarms.false_alarms : alarms.quiet);
    }
  }
  return alarms;
}

}  // namespace

double opened_too_early(const CoatRecord& record) {
  if (!record.told_from) return 0;
  return record.true_open - slack(record.true_open) - *record.told_from;
}

double closed_too_late(const CoatRecord& record) {
  if (!record.closed_from || !record.true_close) return 0;
  return *record.closed_from - *record.true_close - slack(*record.true_close);
}

Counts count(std::span<const CoatRecord> records, std::uint64_t seed) {
  Counts counts;
  Judge all, five, ten, five_touch, ten_touch, printed, thumb;
  Offers offers;
  for (const CoatRecord& record : records) {
    count_one(record, counts);
    offers.add(record);
    printed.add(record, record.printed);
    thumb.add(record, record.by_rule_of_thumb);
    const bool narrow = record.scatter.sigma < 0.075;
    if (record.touched) {
      if (!record.wrong_touches)
        (narrow ? five_touch : ten_touch).add(record, earliest(record.opened_by_touch, record.told_at));
    } else {
      all.add(record, record.told_at);
      (narrow ? five : ten).add(record, record.told_at);
    }
  }
  const int wrong = counts.false_openings + counts.false_comforts;
  counts.rate = counts.coats == 0 ? 0 : static_cast<double>(wrong) / counts.coats;
  counts.rate_upper95 = upper_over_sheets(records, seed);
  counts.median_wait_share = all.done().median_wait_share;
  counts.offered_share = offers.offered();
  counts.touch_test_only_share = offers.test_only();
  counts.five = five.done();
  counts.ten = ten.done();
  counts.five_with_touch = five_touch.done();
  counts.ten_with_touch = ten_touch.done();
  counts.printed = printed.done();
  counts.rule_of_thumb = thumb.done();
  return counts;
}

std::vector<Part> count_by(std::span<const CoatRecord> records, std::uint64_t seed,
                           const std::function<std::string(const CoatRecord&)>& part_of) {
  std::map<std::string, std::vector<CoatRecord>> parts;
  for (const CoatRecord& record : records)
    parts[part_of(record)].push_back(record);
  std::vector<Part> all;
  for (const auto& [name, mine] : parts)
    all.push_back({name, count(mine, seed)});
  return all;
}

double upper_limit(int hits, int trials) {
  if (trials == 0 || hits >= trials) return 1;
  double low = static_cast<double>(hits) / trials, high = 1;
  for (int i = 0; i < 60; ++i) {
    const double share = 0.5 * (low + high);
    (chance_of_at_most(hits, trials, std::max(share, 1e-12)) > 0.05 ? low : high) = share;
  }
  return high;
}

ExpectedError error_at_start(std::span<const CoatRecord> records) {
  return error_of(records, &CoatRecord::expected_at_start);
}

ExpectedError error_at_notice(std::span<const CoatRecord> records) {
  return error_of(records, &CoatRecord::expected_at_notice);
}

Alarms floor_alarms(std::span<const CoatRecord> records) {
  return alarms_of(records, &CoatRecord::floor_due, &CoatRecord::floor_told);
}

Alarms dew_alarms(std::span<const CoatRecord> records) {
  return alarms_of(records, &CoatRecord::dew_due, &CoatRecord::dew_told);
}

}  // namespace setwell::shops
