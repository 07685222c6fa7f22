#include "sensors/mqtt/watch.hpp"

#include <catch2/catch.hpp>

#include "sensors/mqtt/filters.hpp"
#include "sensors/mqtt/replays.hpp"

using namespace std::chrono_literals;
using namespace setwell::mqtt;

namespace {

const Steady kBegin{1000s};

/// Asks every second up to `until` and counts.
struct Asked {
  int canaries = 0;
  int subscriptions = 0;
  int probes = 0;
  bool deaf = false;
};
Asked ask(Watch& watch, std::chrono::seconds from, std::chrono::seconds until, bool answered) {
  Asked asked;
  for (auto at = from; at < until; at += 1s) {
    const auto due = watch.due(kBegin + at);
    asked.canaries += due.canary;
    asked.subscriptions += due.subscribe;
    asked.probes += due.probe;
    asked.deaf |= due.leave == LeaveReason::deaf;
    if (due.canary && answered) watch.canary_back(kBegin + at);
  }
  return asked;
}

}  // namespace

TEST_CASE("a canary goes out at once and every 5 s, filters every 10 s", "[watch]") {
  Watch watch(kBegin);
  watch.connected(kBegin);
  const Asked asked = ask(watch, 0s, 60s, true);
  CHECK(asked.canaries == 12);
  CHECK(asked.subscriptions == 5);
  CHECK_FALSE(asked.deaf);
}

TEST_CASE("a canary that stays away 30 s means deaf, not one second less", "[watch]") {
  Watch watch(kBegin);
  watch.connected(kBegin);
  CHECK_FALSE(ask(watch, 0s, 30s, false).deaf);
  CHECK(ask(watch, 30s, 31s, false).deaf);
}

TEST_CASE("a process that was stopped for an hour is not deaf when it goes on", "[watch]") {
  Watch watch(kBegin);
  watch.connected(kBegin);
  CHECK_FALSE(ask(watch, 0s, 6s, true).deaf);
  CHECK_FALSE(ask(watch, 3600s, 3620s, false).deaf);
  CHECK(ask(watch, 3620s, 3635s, false).deaf);
}

TEST_CASE("waiting for the keeper is not deafness", "[watch]") {
  Watch watch(kBegin);
  watch.connected(kBegin);
  CHECK_FALSE(ask(watch, 0s, 28s, false).deaf);
  watch.busy_keeping(kBegin + 120s);
  CHECK_FALSE(ask(watch, 121s, 149s, false).deaf);
}

TEST_CASE("the port is probed once a minute after five minutes without a connection", "[watch]") {
  Watch watch(kBegin);
  CHECK(ask(watch, 0s, 300s, false).probes == 0);
  CHECK(ask(watch, 300s, 600s, false).probes == 5);
  watch.connected(kBegin + 600s);
  watch.lost(kBegin + 700s);
  CHECK(ask(watch, 700s, 1000s, false).probes == 0);
  CHECK(ask(watch, 1000s, 1001s, false).probes == 1);
}

TEST_CASE("filters that MQTT forbids are told from those it allows", "[filters]") {
  for (const char* good : {"a", "a/b", "/", "+", "#", "a/+/b", "a/#", "+/+", "$SYS/x"})
    CHECK(allowed_filter(good));
  for (const char* bad : {"", "a+", "a#", "#/a", "a/#/b", "a/b+/c"})
    CHECK_FALSE(allowed_filter(bad));
  CHECK_FALSE(allowed_filter(std::string_view("a\0b", 3)));
  CHECK(allowed_topic("a/b"));
  CHECK_FALSE(allowed_topic("a/+"));
  CHECK_FALSE(allowed_topic("a/#"));
  CHECK(tidy({"b", "a", "b", "#x"}) == std::vector<std::string>{"a", "b"});
  CHECK(removed({"a", "b"}, {"b", "c"}) == std::vector<std::string>{"a"});
  CHECK(joined({"a", "b"}, {"b", "c"}) == std::vector<std::string>{"a", "b", "c"});
}

TEST_CASE("a retained value repeats when it is the last retained or the last live one", "[replays]") {
  Replays replays;
  CHECK_FALSE(replays.repeats("t", "offline"));
  CHECK(replays.repeats("t", "offline"));
  replays.live("t", "online");
  CHECK(replays.repeats("t", "offline"));
  CHECK(replays.repeats("t", "online"));
  CHECK_FALSE(replays.repeats("t", "changed"));
  CHECK_FALSE(replays.repeats("other", "changed"));
  replays.forget();
  CHECK_FALSE(replays.repeats("t", "changed"));
}

TEST_CASE("with more topics than are remembered every retained value counts as new", "[replays]") {
  Replays replays;
  for (std::size_t i = 0; i < Replays::kMostTopics; ++i)
    CHECK_FALSE(replays.repeats(std::to_string(i), "x"));
  CHECK_FALSE(replays.repeats("one more", "x"));
  CHECK_FALSE(replays.repeats("one more", "x"));
  CHECK(replays.repeats("0", "x"));
}
