#include "sensors/room/faults.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

using namespace setwell;
using namespace setwell::room;
using namespace std::chrono_literals;

namespace {

const quantity::Instant kBegin = std::chrono::sys_days(std::chrono::year(2031) / 1 / 6);

/// A week of values that never repeat, every 5 min.
std::vector<SensorMessage> good_week() {
  std::vector<SensorMessage> messages;
  for (int i = 0; i < 7 * 288; ++i) {
    const auto at = kBegin + i * 5min;
    messages.push_back({at, at, 15.0 + i * 0.001, 50.0 + i * 0.001, false});
  }
  return messages;
}

std::vector<SensorMessage> with(Fault fault, std::uint64_t seed = 1) {
  return with_faults(good_week(), {fault}, seed);
}

template <typename Holds>
auto count(const std::vector<SensorMessage>& messages, Holds holds) {
  return std::count_if(messages.begin(), messages.end(), holds);
}

}  // namespace

TEST_CASE("without faults messages stay as they are", "[faults]") {
  const auto good = good_week();
  const auto same = with_faults(good, {}, 1);
  REQUIRE(same.size() == good.size());
  for (std::size_t i = 0; i < good.size(); ++i)
    CHECK(same[i].temperature == good[i].temperature);
  CHECK(with_faults({}, {Fault::stuck, Fault::dropouts, Fault::retained}, 1).empty());
}

TEST_CASE("dropouts leave gaps of 20 min to 3 h", "[faults]") {
  const auto messages = with(Fault::dropouts);
  int gaps = 0;
  for (std::size_t i = 1; i < messages.size(); ++i) {
    const auto gap = messages[i].at - messages[i - 1].at;
    if (gap == 5min) continue;
    ++gaps;
    CHECK(gap >= 20min);
    CHECK(gap <= 3h + 10min);
  }
  CHECK(gaps >= 5);
  CHECK(gaps <= 7);
}

TEST_CASE("a stuck sensor repeats one value for 14 h", "[faults]") {
  const auto messages = with(Fault::stuck);
  int same = 0;
  for (std::size_t i = 1; i < messages.size(); ++i)
    same += messages[i].temperature == messages[i - 1].temperature &&
            messages[i].humidity == messages[i - 1].humidity;
  CHECK(same >= 14 * 12 - 2);
  CHECK(same <= 14 * 12);
}

TEST_CASE("spikes and sentinels hit about one row in 200", "[faults]") {
  // 2016 rows at 0.005: 10 expected, 3.2 standard deviation.
  const auto spikes =
      count(with(Fault::spikes), [](const auto& m) { return m.temperature < 0 || m.temperature > 30; });
  CHECK(spikes >= 1);
  CHECK(spikes <= 23);
  const auto sentinels = count(with(Fault::sentinel),
                               [](const auto& m) { return m.temperature == 85.0 || m.humidity == 998.0; });
  CHECK(sentinels >= 1);
  CHECK(sentinels <= 23);
}

TEST_CASE("an old retained value comes before everything else", "[faults]") {
  const auto messages = with(Fault::retained);
  CHECK(messages.size() == 7 * 288 + 1);
  CHECK(messages.front().retained);
  CHECK(messages.front().device_time < kBegin - 20 * 24h);
  CHECK(count(messages, [](const auto& m) { return m.retained; }) == 1);
}

TEST_CASE("an unset clock starts in January 1970", "[faults]") {
  const auto messages = with(Fault::clock_unset);
  const auto early = count(messages, [](const auto& m) { return m.device_time.time_since_epoch() < 1h; });
  CHECK(early >= 6 * 5);
  CHECK(early <= 7 * 7);
  CHECK(count(messages, [](const auto& m) { return m.device_time == m.at; }) ==
        static_cast<long>(messages.size()) - early);
}

TEST_CASE("duplicates follow their first at the same time", "[faults]") {
  const auto messages = with(Fault::duplicates);
  // 2016 rows at 0.02: 40 expected, 6.3 standard deviation.
  const auto more = messages.size() - 7 * 288;
  CHECK(more >= 15);
  CHECK(more <= 66);
  CHECK(std::is_sorted(messages.begin(), messages.end(),
                       [](const auto& a, const auto& b) { return a.at < b.at; }));
}

TEST_CASE("faults do not depend on the order in which they are asked for", "[faults]") {
  const auto one = with_faults(good_week(), {Fault::spikes, Fault::dropouts}, 3);
  const auto other = with_faults(good_week(), {Fault::dropouts, Fault::spikes}, 3);
  REQUIRE(one.size() == other.size());
  for (std::size_t i = 0; i < one.size(); ++i)
    CHECK(one[i].temperature == other[i].temperature);
}

TEST_CASE("every fault has a word and other words have none", "[faults]") {
  CHECK(fault_names().size() == 7);
  for (const auto name : fault_names())
    CHECK(fault_named(name));
  CHECK_FALSE(fault_named("drop"));
}
