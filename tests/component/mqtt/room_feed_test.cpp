#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <memory>
#include <string>

#include <catch2/catch.hpp>

#include "tests/component/mqtt/keepers.hpp"
#include "tests/support/broker.hpp"

using namespace std::chrono_literals;
using namespace setwell;
using namespace setwell::test;

namespace {

struct Ran {
  int exit = -1;
  std::string text;
};

Ran run_room(const std::string& options) {
  FILE* pipe = ::popen((SETWELL_ROOM_PROGRAM " " + options + " 2>&1").c_str(), "r");
  REQUIRE(pipe != nullptr);
  Ran ran;
  std::array<char, 4096> part{};
  while (std::fgets(part.data(), part.size(), pipe) != nullptr)
    ran.text += part.data();
  ran.exit = ::pclose(pipe) / 256;
  return ran;
}

std::string at(const Broker& broker) {
  return "--broker 127.0.0.1:" + std::to_string(broker.port()) + ' ';
}

}  // namespace

TEST_CASE("an invented room arrives whole and in order as fast as the broker takes it", "[room]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"workshop/bench"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  const Ran ran =
      run_room(at(broker) + "--speed max --days 7 --begin 2031-01-06T00:00:00Z --topic workshop/bench");
  CHECK(ran.text == "published 2016 messages, 2016 acknowledged\n");
  CHECK(ran.exit == 0);
  REQUIRE(eventually(10s, [&] { return keeper.count() == 2016; }));
  const auto kept = keeper.kept();
  CHECK(kept.front().payload.find(R"({"time":"2031-01-06T00:00:00Z","temperature":)") == 0);
  CHECK(std::is_sorted(kept.begin(), kept.end(), [](const auto& a, const auto& b) {
    return a.payload.substr(0, 31) < b.payload.substr(0, 31);
  }));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("a recorded room keeps its values, its span and the pace it is told", "[room]") {
  Broker broker;
  MemoryKeeper keeper;
  mqtt::Source source(hearing(broker.port(), {"t", "h"}), {}, keeper);
  source.start();
  REQUIRE(hears(source));
  const auto file = broker.folder() / "room.csv";
  std::ofstream(file)
      << "time,temperature_c,humidity_pct\n2031-01-06T00:00:00Z,17.5,60\n"
         "2031-01-06T00:10:00Z,17.25,61\n2031-01-06T00:20:00Z,17,62\n2031-01-06T00:30:00Z,16,63\n";
  const auto began = std::chrono::steady_clock::now();
  const Ran ran = run_room(at(broker) + "--from " + file.string() +
                           " --begin 2031-01-06T00:10:00Z --end 2031-01-06T00:30:00Z --speed 600 "
                           "--topic-temperature t --topic-humidity h");
  CHECK(ran.text == "published 4 messages, 4 acknowledged\n");
  // Ten minutes between the two rows at 600 times real time.
  CHECK(std::chrono::steady_clock::now() - began >= 1s);
  REQUIRE(eventually(5s, [&] { return keeper.count() == 4; }));
  CHECK(keeper.has(R"({"time":"2031-01-06T00:10:00Z","temperature":17.25})"));
  CHECK(keeper.has(R"({"time":"2031-01-06T00:20:00Z","humidity":62})"));
  CHECK(source.stop() == mqtt::StopOutcome::disconnected);
}

TEST_CASE("what a room cannot be made from is said, with an exit code of its kind", "[room]") {
  Broker broker;
  std::ofstream(broker.folder() / "bad.csv") << "time,temperature_c,humidity_pct\nyesterday,17,60\n";
  CHECK(run_room("--csv --speed fast --from /nowhere.csv").exit == 4);
  CHECK(run_room("--csv --from " + (broker.folder() / "bad.csv").string()).exit == 5);
  CHECK(run_room("--csv --begin tomorrow").exit == 2);
  CHECK(run_room("--no-such-option").exit == 2);
  CHECK(run_room("--days 1 --speed fast " + at(broker)).exit == 2);
  broker.stop();
  const Ran ran = run_room(at(broker) + "--days 1 --speed max");
  CHECK(ran.exit == 3);
  CHECK(ran.text.find("cannot be reached") != std::string::npos);
}
