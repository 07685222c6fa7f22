#include <algorithm>
#include <limits>
#include <numeric>
#include <random>

#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using decode::TimeQuality;
using decode::Unit;
using ledger::ChannelNumber;
using ledger::Ledger;
using ledger::ReadingVerdict;
using ledger::StoredReading;
using quantity::ChannelId;
using quantity::Quality;
using quantity::Refusal;

namespace {

StoredReading reading(ChannelNumber channel, double value, Instant measured) {
  StoredReading made;
  made.channel = channel;
  made.decoded.value = value;
  made.decoded.number = value;
  made.decoded.unit = Unit::deg_c;
  made.decoded.measured = measured;
  made.decoded.received = measured;
  made.decoded.topic = "bench/air";
  return made;
}

std::vector<double> values_of(const std::vector<StoredReading>& rows) {
  std::vector<double> values;
  for (const auto& row : rows)
    values.push_back(row.decoded.value);
  return values;
}

/// Whether all that was decoded is the same.
void check_same(const StoredReading& a, const StoredReading& b) {
  CHECK(a.channel == b.channel);
  CHECK(a.decoded.value == b.decoded.value);
  CHECK(a.decoded.number == b.decoded.number);
  CHECK(a.decoded.unit == b.decoded.unit);
  CHECK(a.decoded.measured == b.decoded.measured);
  CHECK(a.decoded.received == b.decoded.received);
  CHECK(a.decoded.time == b.decoded.time);
  CHECK(a.decoded.by_device == b.decoded.by_device);
  CHECK(a.decoded.seq == b.decoded.seq);
  CHECK(a.decoded.uptime == b.decoded.uptime);
  CHECK(a.decoded.clamped == b.decoded.clamped);
  CHECK(a.decoded.redelivered == b.decoded.redelivered);
  CHECK(a.decoded.topic == b.decoded.topic);
  CHECK(a.decoded.refusal == b.decoded.refusal);
  CHECK(a.verdict == b.verdict);
  CHECK(a.inbox_row == b.inbox_row);
}

struct Bench {
  Ledger book = open_ledger();
  ChannelNumber air = book.channel_number(ChannelId("bench/air-temperature"));
  Ledger::PutReading put(double value, Instant measured) { return book.put(reading(air, value, measured)); }
};

}  // namespace

TEST_CASE("a channel has one number for ever", "[ledger]") {
  auto book = open_ledger();
  const auto first = book.channel_number(ChannelId("a"));
  CHECK(book.channel_number(ChannelId("b")) != first);
  CHECK(book.channel_number(ChannelId("a")) == first);
  CHECK(book.channels().size() == 2);
  CHECK(book.channels().front() == ledger::ChannelRow{first, ChannelId("a")});
}

TEST_CASE("a reading comes back exactly as it was decoded", "[ledger]") {
  Bench bench;
  auto full = reading(bench.air, 21.5, at(0));
  full.decoded.number = 70.7;
  full.decoded.unit = Unit::deg_f;
  full.decoded.received = at(3600);
  full.decoded.time = TimeQuality::uncertain;
  full.decoded.by_device = true;
  full.decoded.seq = -7;
  full.decoded.uptime = 0.25;
  full.decoded.clamped = true;
  full.decoded.redelivered = true;
  full.decoded.topic = "other/gateway";
  full.decoded.refusal = Refusal::sentinel;
  full.verdict = {Refusal::duplicate, Quality::settling, true};
  full.inbox_row = 9'000'000'000;
  auto ahead = reading(bench.air, 0.1 + 0.2, at(10));
  ahead.decoded.received = at(9);
  ahead.decoded.time = TimeQuality::bad;
  ahead.verdict = {std::nullopt, Quality::time_bad, false};
  (void)bench.book.put(full);
  (void)bench.book.put(ahead);
  const auto rows = bench.book.readings(bench.air, at(0), at(11));
  REQUIRE(rows.size() == 2);
  check_same(rows[0], full);
  check_same(rows[1], ahead);
}

TEST_CASE("every refusal, quality and unit survives being stored", "[ledger]") {
  Bench bench;
  int second = 0;
  for (int refusal = 0; refusal <= static_cast<int>(Refusal::unmapped); ++refusal) {
    auto made = reading(bench.air, 1.0, at(second++));
    made.decoded.refusal = static_cast<Refusal>(refusal);
    made.decoded.unit = static_cast<Unit>(refusal % 5);
    made.verdict = {static_cast<Refusal>(refusal), static_cast<Quality>(refusal % 5), refusal % 2 == 0};
    (void)bench.book.put(made);
    check_same(*bench.book.newest(bench.air), made);
  }
}

TEST_CASE("the same value at the same moment by the same topic is stored once", "[ledger]") {
  Bench bench;
  CHECK(bench.put(20.0, at(0)).outcome == Ledger::Put::stored);
  auto again = reading(bench.air, 20.0, at(0));
  again.verdict = {std::nullopt, Quality::good, true};
  const auto answer = bench.book.put(again);
  CHECK(answer.outcome == Ledger::Put::already_there);
  CHECK(answer.key == again.key());
  REQUIRE(bench.book.reading_count(bench.air) == 1);
  CHECK_FALSE(bench.book.newest(bench.air)->verdict.judged);
}

TEST_CASE("two values at one moment are two readings, in an order that arrival does not decide", "[ledger]") {
  Bench one;
  Bench other;
  CHECK(one.put(20.0, at(0)).key.nth == 0);
  CHECK(one.put(21.0, at(0)).key.nth == 1);
  (void)other.put(21.0, at(0));
  (void)other.put(20.0, at(0));
  const std::vector<double> expected{20.0, 21.0};
  CHECK(values_of(one.book.readings(one.air, at(0), at(1))) == expected);
  CHECK(values_of(other.book.readings(other.air, at(0), at(1))) == expected);
  CHECK(one.book.set_verdict(one.air, {at(0), at(0), 1}, {std::nullopt, Quality::good, true}));
  CHECK(one.book.trusted(one.air, at(0), at(1)).at(0).value == 21.0);
}

TEST_CASE("readings are ordered by measured time, however they arrive", "[ledger]") {
  std::vector<int> order(200);
  std::iota(order.begin(), order.end(), 0);
  std::shuffle(order.begin(), order.end(), std::mt19937(7));
  Bench bench;
  for (const int i : order)
    (void)bench.put(i, at(i));
  std::vector<double> expected(200);
  std::iota(expected.begin(), expected.end(), 0.0);
  CHECK(values_of(bench.book.readings(bench.air, at(0), at(1000))) == expected);
  CHECK(bench.book.newest(bench.air)->decoded.value == 199.0);
  CHECK(bench.book.reading_count(bench.air) == 200);
}

TEST_CASE("a span of readings takes in its start and leaves out its end and other channels", "[ledger]") {
  Bench bench;
  const auto rack = bench.book.channel_number(ChannelId("rack/air-temperature"));
  for (int i = 0; i < 5; ++i)
    (void)bench.put(i, at(i));
  (void)bench.book.put(reading(rack, 99.0, at(2)));
  CHECK(values_of(bench.book.readings(bench.air, at(1), at(3))) == std::vector<double>{1, 2});
  CHECK(bench.book.readings(bench.air, at(3), at(3)).empty());
}

TEST_CASE("neighbours are the nearest before, all at the moment, and the nearest after, in order",
          "[ledger]") {
  Bench bench;
  for (int i = 0; i < 10; ++i)
    (void)bench.put(i, at(i));
  (void)bench.put(5.5, at(5));
  CHECK(values_of(bench.book.neighbours(bench.air, at(5), 2, 3)) ==
        std::vector<double>{3, 4, 5, 5.5, 6, 7, 8});
  CHECK(values_of(bench.book.neighbours(bench.air, at(0), 3, 1)) == std::vector<double>{0, 1});
  CHECK(values_of(bench.book.neighbours(bench.air, at(99), 2, 3)) == std::vector<double>{8, 9});
  CHECK(bench.book.neighbours(bench.air, at(99), 0, 0).empty());
}

TEST_CASE("only judged good and clamped readings are trusted", "[ledger]") {
  Bench bench;
  const auto put_judged = [&](int second, std::optional<Refusal> refusal, Quality quality, bool judged) {
    auto made = reading(bench.air, second, at(second));
    made.verdict = {refusal, quality, judged};
    (void)bench.book.put(made);
  };
  put_judged(0, std::nullopt, Quality::good, true);
  put_judged(1, std::nullopt, Quality::clamped, true);
  put_judged(2, std::nullopt, Quality::good, false);
  put_judged(3, Refusal::spike, Quality::good, true);
  put_judged(4, std::nullopt, Quality::time_uncertain, true);
  put_judged(5, std::nullopt, Quality::time_bad, true);
  put_judged(6, std::nullopt, Quality::settling, true);
  const std::vector<ledger::TrustedReading> expected{{at(0), 0.0, Quality::good},
                                                     {at(1), 1.0, Quality::clamped}};
  CHECK(bench.book.trusted(bench.air, at(0), at(100)) == expected);
}

TEST_CASE("a verdict may change; one on a reading that is not there says so", "[ledger]") {
  Bench bench;
  const auto key = bench.put(20.0, at(0)).key;
  const ReadingVerdict spike{Refusal::spike, Quality::good, true};
  CHECK(bench.book.set_verdict(bench.air, key, spike));
  CHECK(bench.book.newest(bench.air)->verdict == spike);
  CHECK_FALSE(bench.book.set_verdict(bench.air, {at(0), at(1), 0}, spike));
  CHECK_FALSE(bench.book.set_verdict(bench.air, {at(0), at(0), 1}, spike));
}

TEST_CASE("a long visit sees every reading once over days and years, and ends when told", "[ledger]") {
  Bench bench;
  std::vector<double> expected;
  int i = 0;
  for (const int day : {0, 0, 1, 2, 40, 400, 4000}) {
    (void)bench.put(i, at(day * 86400 + i));
    expected.push_back(i++);
  }
  std::vector<double> seen;
  bench.book.visit_readings(bench.air, Instant::min(), Instant::max(), [&](const StoredReading& row) {
    seen.push_back(row.decoded.value);
    (void)bench.book.readings(bench.air, at(0), at(1));
    return true;
  });
  CHECK(seen == expected);
  seen.clear();
  bench.book.visit_readings(bench.air, at(1), at(86400 * 40 + 4), [&](const StoredReading& row) {
    seen.push_back(row.decoded.value);
    return seen.size() < 2;
  });
  CHECK(seen == std::vector<double>{1, 2});
}

TEST_CASE("old readings are deleted in batches", "[ledger]") {
  Bench bench;
  const auto rack = bench.book.channel_number(ChannelId("rack/air-temperature"));
  for (int i = 0; i < 8; ++i) {
    (void)bench.put(i, at(i));
    (void)bench.book.put(reading(rack, i, at(i)));
  }
  CHECK(bench.book.delete_readings_before(at(5), 7) == 7);
  CHECK(bench.book.delete_readings_before(at(5), 7) == 3);
  CHECK(bench.book.delete_readings_before(at(5), 7) == 0);
  CHECK(values_of(bench.book.readings(bench.air, at(0), at(9))) == std::vector<double>{5, 6, 7});
  CHECK(values_of(bench.book.readings(rack, at(0), at(9))) == std::vector<double>{5, 6, 7});
}

TEST_CASE("readings that a clock stamped ahead of itself are deleted, on every channel, and none before them",
          "[ledger]") {
  Bench bench;
  const auto rack = bench.book.channel_number(ChannelId("rack/air-temperature"));
  for (int i = 0; i < 4; ++i) {
    (void)bench.put(i, at(i));
    (void)bench.book.put(reading(rack, i, at(i)));
  }
  CHECK(bench.book.delete_readings_after(at(1)) == 4);
  CHECK(values_of(bench.book.readings(bench.air, at(0), at(9))) == std::vector<double>{0, 1});
  CHECK(values_of(bench.book.readings(rack, at(0), at(9))) == std::vector<double>{0, 1});
}

TEST_CASE("a value that is no number is stored as infinite and stops nothing", "[ledger]") {
  Bench bench;
  const double none = std::numeric_limits<double>::quiet_NaN();
  CHECK(bench.put(none, at(0)).outcome == Ledger::Put::stored);
  CHECK(bench.put(none, at(0)).outcome == Ledger::Put::already_there);
  CHECK(bench.book.newest(bench.air)->decoded.value == std::numeric_limits<double>::infinity());
}

}  // namespace setwell::ledger_test
