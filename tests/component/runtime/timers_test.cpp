#include <stdexcept>
#include <thread>
#include <vector>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>

#include "daemon/runtime/doorbell.hpp"
#include "daemon/runtime/due_timer.hpp"
#include "daemon/runtime/guarded_spawn.hpp"
#include "daemon/runtime/periodic.hpp"
#include "tests/support/manual_clock.hpp"

namespace {

using namespace setwell;
using namespace std::chrono_literals;
using test_support::ManualClock;

const quantity::Instant kStart = quantity::instant_from_ms(1'930'000'000'000);

/// A due timer whose waits are a millisecond at most, so that a test drives it by moving the clock.
struct Watched {
  boost::asio::io_context loop;
  ManualClock clock{kStart};
  int calls = 0;
  runtime::DueTimer timer{loop, clock, [this] { ++calls; }, 1ms};

  void turns(int count) {
    for (int i = 0; i < count; ++i)
      loop.run_one_for(1s);
  }
};

TEST_CASE("The due timer calls once when its moment has come, and not before", "[timer]") {
  Watched watched;
  watched.timer.arm(kStart + 10s);
  watched.turns(3);
  watched.clock.pass(1500ms);
  watched.turns(3);
  CHECK(watched.calls == 0);
  for (int i = 0; i < 9; ++i) {
    watched.clock.pass(1s);
    watched.turns(1);
  }
  CHECK(watched.calls == 1);
  CHECK(watched.loop.poll() == 0);
}

TEST_CASE("A moment that is past is due at once, but not from within arm", "[timer]") {
  Watched watched;
  watched.timer.arm(kStart - 1h);
  CHECK(watched.calls == 0);
  watched.turns(1);
  CHECK(watched.calls == 1);
}

TEST_CASE("A wall clock set back or forward is noticed at the next look", "[timer]") {
  const auto step = GENERATE(-3600s, 86400s, -10s, 5s);
  Watched watched;
  watched.timer.arm(kStart + 48h);
  watched.turns(2);
  CHECK(watched.calls == 0);
  watched.clock.set_wall(kStart + step);
  watched.turns(1);
  CHECK(watched.calls == 1);
}

TEST_CASE("A wait is never longer than five seconds, so a step is noticed within them", "[timer]") {
  CHECK(runtime::DueTimer::kLongestWait < 5s);
}

TEST_CASE("Arming again replaces what was armed, and a destroyed timer calls nothing", "[timer]") {
  Watched watched;
  watched.timer.arm(kStart - 1s);
  watched.timer.arm(kStart + 1h);
  watched.turns(3);
  CHECK(watched.calls == 0);
  watched.timer.arm(kStart);
  watched.timer.disarm();
  watched.loop.restart();
  watched.loop.run_for(20ms);
  CHECK(watched.calls == 0);
}

TEST_CASE("A call may arm the timer again", "[timer]") {
  boost::asio::io_context loop;
  ManualClock clock{kStart};
  int calls = 0;
  std::unique_ptr<runtime::DueTimer> timer;
  timer = std::make_unique<runtime::DueTimer>(
      loop, clock,
      [&] {
        if (++calls < 3)
          timer->arm(kStart);
        else
          timer.reset();
      },
      1ms);
  timer->arm(kStart);
  loop.run_for(1s);
  CHECK(calls == 3);
}

TEST_CASE("Many rings from many threads are few calls, and none is lost", "[doorbell]") {
  boost::asio::io_context loop;
  std::atomic<int> rung = 0;
  int heard = 0;
  int calls = 0;
  runtime::Doorbell bell(loop, [&] {
    ++calls;
    heard = rung.load();
  });
  std::vector<std::thread> ringers;
  for (int i = 0; i < 4; ++i) {
    ringers.emplace_back([&] {
      for (int n = 0; n < 2000; ++n) {
        ++rung;
        bell.ring();
      }
    });
  }
  while (heard < 8000) {
    loop.run_for(5ms);
    loop.restart();
  }
  for (auto& ringer : ringers)
    ringer.join();
  loop.poll();
  CHECK(heard == 8000);
  CHECK(calls <= 8000);
  bell.ring();
  bell.ring();
  loop.restart();
  CHECK(loop.poll() == 1);
}

TEST_CASE("A ring after which the bell is gone calls nothing", "[doorbell]") {
  boost::asio::io_context loop;
  int calls = 0;
  {
    runtime::Doorbell bell(loop, [&] { ++calls; });
    bell.ring();
  }
  loop.run();
  CHECK(calls == 0);
}

TEST_CASE("A periodic call comes again until its owner is gone", "[timer]") {
  boost::asio::io_context loop;
  int calls = 0;
  std::unique_ptr<runtime::Periodic> periodic;
  periodic = std::make_unique<runtime::Periodic>(loop, 1ms, [&] {
    if (++calls == 3) periodic.reset();
  });
  loop.run_for(1s);
  CHECK(calls == 3);
}

boost::asio::awaitable<void> throws() {
  throw std::runtime_error("out of paint");
  co_return;
}
boost::asio::awaitable<void> returns() {
  co_return;
}

TEST_CASE("What a spawned coroutine throws is told with its name, and its end either way", "[spawn]") {
  boost::asio::io_context loop;
  std::vector<std::string> told;
  int ended = 0;
  const auto tell = [&](std::string_view name, std::string_view what) {
    told.push_back(std::string(name) + ": " + std::string(what));
  };
  runtime::guarded_spawn(loop.get_executor(), "first", throws(), tell, [&] { ++ended; });
  runtime::guarded_spawn(loop.get_executor(), "second", returns(), tell, [&] { ++ended; });
  loop.run();
  CHECK(told == std::vector<std::string>{"first: out of paint"});
  CHECK(ended == 2);
}

}  // namespace
