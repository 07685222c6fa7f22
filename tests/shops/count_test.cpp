#include "tests/shops/count.hpp"

#include <catch2/catch.hpp>

using namespace setwell::shops;

namespace {

CoatRecord coat(double told_from, double true_open = 100) {
  CoatRecord record;
  record.sheet = "S1";
  record.true_open = true_open;
  record.told_from = record.told_at = told_from;
  return record;
}

}  // namespace

TEST_CASE("A telling before the true opening is false, one at it or after it is not", "[count]") {
  CHECK(opened_too_early(coat(98)) == Approx(1.5));
  CHECK(opened_too_early(coat(99.8)) <= 0);
  CHECK(opened_too_early(coat(130)) <= 0);
  CoatRecord never = coat(0);
  never.told_from.reset();
  CHECK(opened_too_early(never) <= 0);
}

TEST_CASE("An until behind the true close is a false comfort", "[count]") {
  CoatRecord record = coat(120);
  record.true_close = 300;
  record.closed_from = 302;
  CHECK(closed_too_late(record) == Approx(1.5));
  record.closed_from = 290;
  CHECK(closed_too_late(record) <= 0);
}

TEST_CASE("Never opened counts as an infinite wait", "[count]") {
  std::vector<CoatRecord> records{coat(120), coat(150), coat(110)};
  CHECK(count(records, 1).median_wait_share == Approx(0.2));
  for (int i = 0; i < 3; ++i) {
    records.push_back(coat(0));
    records.back().told_at.reset();
    records.back().told_from.reset();
  }
  records.push_back(records.back());
  const Counts counts = count(records, 1);
  CHECK(counts.never_opened == 4);
  CHECK(std::isinf(counts.median_wait_share));
}

TEST_CASE("The upper limit of none among n is that of Clopper and Pearson", "[count]") {
  CHECK(upper_limit(0, 3000) == Approx(1 - std::pow(0.05, 1.0 / 3000)).epsilon(1e-6));
  CHECK(upper_limit(1, 10) == Approx(0.3942).epsilon(1e-3));
  CHECK(upper_limit(10, 10) == 1);
}

TEST_CASE("Limits draw whole sheets: what one sheet alone does wrong weighs more than its coats", "[count]") {
  std::vector<CoatRecord> spread, one_sheet;
  for (int i = 0; i < 1000; ++i) {
    CoatRecord record = coat(i % 100 == 0 ? 50 : 130);
    record.sheet = "S" + std::to_string(i % 10);
    one_sheet.push_back(record);
    record.sheet = "S" + std::to_string(i / 100);
    spread.push_back(record);
  }
  const Counts even = count(spread, 1), bad = count(one_sheet, 1);
  CHECK(even.rate == bad.rate);
  CHECK(bad.rate_upper95 > 1.5 * even.rate_upper95);
}

TEST_CASE("A window counts as offered when half an hour or a quarter of it was", "[count]") {
  CoatRecord record = coat(120);
  record.waking_window = 200;
  record.window_least = 30;
  record.waking_offered = 30;
  CHECK(count(std::vector{record}, 1).offered_share == 1);
  record.waking_offered = 29;
  record.waking_test_offered = 60;
  const Counts counts = count(std::vector{record}, 1);
  CHECK(counts.offered_share == 0);
  CHECK(counts.touch_test_only_share == 1);
}
