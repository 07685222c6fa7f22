#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "sensors/screen/screen.hpp"
#include "tests/unit/screen/readings.hpp"

using namespace setwell;
using namespace setwell::tests;
using quantity::DecodedValue;
using quantity::Instant;
using screen::Standing;
using std::chrono::seconds;

namespace {

using Random = std::mt19937;

bool chance(Random& random, double share) {
  return std::uniform_real_distribution<>(0, 1)(random) < share;
}

double uniform(Random& random, double low, double high) {
  return std::uniform_real_distribution<>(low, high)(random);
}

/// Everything that a day can hold: noise, spikes, steps, a sensor that changes its unit or scale, restarts,
/// sentinels, power-on values, repeats by sequence, by device time and by a second gateway, bursts.
std::vector<DecodedValue> wild_day(Random& random, const screen::Rules& rules, std::size_t count) {
  const bool humidity = rules.quantity == quantity::MeasuredQuantity::relative_humidity;
  std::vector<DecodedValue> day;
  Instant at = morning();
  double level = humidity ? 50.0 : 21.0;
  bool other = false;
  std::int64_t seq = 100;
  double uptime = 5000;
  const bool tells_seq = chance(random, 0.5);
  const bool tells_uptime = chance(random, 0.3);
  const bool tells_time = chance(random, 0.4);
  while (day.size() < count) {
    const auto step = chance(random, 0.02) ? seconds(random() % 4000) : seconds(1 + random() % 90);
    at += step;
    uptime += static_cast<double>(step.count());
    ++seq;
    level += uniform(random, -0.3, 0.3);
    if (chance(random, 0.01)) level = uniform(random, 15, 45);
    if (chance(random, 0.004)) other = !other;
    if (chance(random, 0.01)) {
      uptime = 0;
      seq = 0;
    }
    double value = level;
    if (other) value = humidity ? level / 100.0 : level * 1.8 + 32.0;
    if (chance(random, 0.05)) value += uniform(random, -40, 40);
    if (chance(random, 0.03)) value = humidity ? 0.5 : 85.0;
    auto decoded = reading(std::round(value * 10) / 10, at);
    if (tells_seq) decoded.seq = seq;
    if (tells_uptime) decoded.uptime = uptime;
    decoded.by_device = tells_time;
    if (chance(random, 0.03)) decoded.refusal = quantity::Refusal::out_of_range;
    if (chance(random, 0.02)) decoded.time = quantity::TimeQuality::uncertain;
    day.push_back(decoded);
    for (auto copies = chance(random, 0.1) ? random() % 5 : 0; copies > 0; --copies) {
      auto again = decoded;
      again.received += seconds(random() % 5);
      if (!tells_time) again.measured = again.received;
      again.topic = chance(random, 0.5) ? "gw2/p7" : again.topic;
      again.redelivered = chance(random, 0.3);
      day.push_back(again);
    }
  }
  return day;
}

std::vector<Instant> births_of(Random& random, const std::vector<DecodedValue>& day) {
  std::vector<Instant> births;
  for (int i = 0; i < 3; ++i)
    births.push_back(day[random() % day.size()].measured + seconds(random() % 30));
  return births;
}

/// What a daemon keeps: the values in time order, each with its verdict; brought up to date value by value.
class Keeper {
 public:
  Keeper(screen::Rules rules, std::vector<Instant> births) : rules_(rules), births_(std::move(births)) {}

  void take(const DecodedValue& value) {
    const auto place = std::upper_bound(
        kept_.begin(), kept_.end(), value,
        [](const DecodedValue& v, const Standing& s) { return screen::earlier(v, s.value); });
    auto position = static_cast<std::size_t>(place - kept_.begin());
    kept_.insert(place, Standing{value, {}});
    for (std::optional<std::size_t> next = position; next; ++rounds_)
      next = settle(*next);
  }

  [[nodiscard]] const std::vector<Standing>& kept() const { return kept_; }
  [[nodiscard]] std::size_t rounds() const { return rounds_; }

 private:
  /// Screens around a position as if only two reaches could be loaded; answers where it has to go on.
  std::optional<std::size_t> settle(std::size_t position) {
    kept_[position].verdict.reset();
    const auto reach = screen::reach_of(rules_);
    const auto center = kept_[position].value.measured;
    const auto low = std::partition_point(kept_.begin(), kept_.end(), [&](const Standing& s) {
      return s.value.measured < center - 2 * reach.time;
    });
    const auto high = std::partition_point(kept_.begin(), kept_.end(), [&](const Standing& s) {
      return s.value.measured <= center + 2 * reach.time;
    });
    const auto first = static_cast<std::size_t>(
        std::max<std::ptrdiff_t>(0, (low - kept_.begin()) - static_cast<std::ptrdiff_t>(2 * reach.values)));
    const auto end =
        std::min(kept_.size(), static_cast<std::size_t>(high - kept_.begin()) + 2 * reach.values);
    const auto result = screen::rescreen(rules_, std::span(kept_).subspan(first, end - first), births_);
    for (const auto& change : result.changes)
      kept_[first + change.position].verdict = change.verdict;
    if (!result.carries_on) return std::nullopt;
    return first + *result.carries_on;
  }

  screen::Rules rules_;
  std::vector<Instant> births_;
  std::vector<Standing> kept_;
  std::size_t rounds_ = 0;
};

screen::Rules rules_for(unsigned seed) {
  auto rules = seed % 2 == 0 ? thermometer() : hygrometer();
  rules.several_ways = seed % 3 == 0;
  return rules;
}

void check_same_as_whole(const Keeper& keeper, const screen::Rules& rules,
                         const std::vector<Instant>& births) {
  std::vector<DecodedValue> series;
  for (const auto& standing : keeper.kept())
    series.push_back(standing.value);
  const auto whole = screen::screen(rules, series, births);
  std::size_t differ = 0;
  for (std::size_t at = 0; at < series.size(); ++at)
    differ += keeper.kept()[at].verdict != whole[at];
  CHECK(differ == 0);
}

}  // namespace

TEST_CASE("Any order of arrival ends in the same verdicts", "[screen]") {
  for (unsigned seed = 0; seed < 30; ++seed) {
    INFO("seed " << seed);
    Random random(seed);
    const auto rules = rules_for(seed);
    auto day = wild_day(random, rules, 400);
    const auto births = births_of(random, day);
    const auto in_time = [](const DecodedValue& a, const DecodedValue& b) { return screen::earlier(a, b); };
    std::sort(day.begin(), day.end(), in_time);
    const auto before = screen::screen(rules, day, births);
    std::vector<std::size_t> order(day.size());
    for (std::size_t i = 0; i < order.size(); ++i)
      order[i] = i;
    for (int round = 0; round < 5; ++round) {
      std::shuffle(order.begin(), order.end(), random);
      std::vector<DecodedValue> shuffled;
      for (const auto at : order)
        shuffled.push_back(day[at]);
      const auto after = screen::screen(rules, shuffled, births);
      std::size_t differ = 0;
      for (std::size_t k = 0; k < order.size(); ++k) {
        // Twins in every respect are interchangeable: which of them is the repeat has no meaning.
        const auto& value = day[order[k]];
        const bool twin = std::count_if(day.begin(), day.end(), [&](const DecodedValue& v) {
                            return !screen::earlier(v, value) && !screen::earlier(value, v);
                          }) > 1;
        differ += !twin && after[k] != before[order[k]];
      }
      CHECK(differ == 0);
    }
  }
}

TEST_CASE("Screening value by value within two reaches ends where screening the whole does", "[screen]") {
  for (unsigned seed = 0; seed < 8; ++seed) {
    INFO("seed " << seed);
    Random random(1000 + seed);
    const auto rules = rules_for(seed);
    auto day = wild_day(random, rules, 1500);
    const auto births = births_of(random, day);
    if (seed % 4 != 0) std::shuffle(day.begin(), day.end(), random);
    Keeper keeper(rules, births);
    for (const auto& value : day)
      keeper.take(value);
    check_same_as_whole(keeper, rules, births);
  }
}

TEST_CASE("A switch of unit that comes to light late is carried to the end of the series", "[screen]") {
  std::vector<double> values(20, 21.0);
  values.insert(values.end(), 3000, 69.8);
  const auto series = each_minute(values);
  Keeper keeper(thermometer(), {});
  // The old level arrives last, so that all of the new one was good until then.
  for (std::size_t at = 20; at < series.size(); ++at)
    keeper.take(series[at]);
  CHECK(screen::counts(*keeper.kept().back().verdict));
  for (std::size_t at = 0; at < 20; ++at)
    keeper.take(series[at]);
  check_same_as_whole(keeper, thermometer(), {});
  CHECK(keeper.kept().back().verdict->refused == quantity::Refusal::unit_suspect);
}

TEST_CASE("Nothing without a verdict means nothing to do", "[screen]") {
  const std::vector<Standing> settled{{reading(20, morning()), screen::Verdict{}}};
  CHECK(screen::rescreen(thermometer(), settled).changes.empty());
  CHECK(screen::rescreen(thermometer(), {}).changes.empty());
}
