#include <csignal>
#include <optional>

#include <catch2/catch.hpp>
#include <pthread.h>

#include "tests/component/notices/yard.hpp"

namespace setwell::notices_test {

using notices::Courier;
using std::chrono::steady_clock;

namespace {

/// Hands one job over and waits for what it came to.
SendResult come_of(Courier& courier, Courier::Job job) {
  Loop loop;
  std::optional<SendResult> result;
  courier.run(std::move(job),
              [&, post = loop.door()](SendResult got) { post([&result, got] { result = got; }); });
  if (!loop.run_one()) throw std::runtime_error("the courier did not come back");
  return *result;
}

}  // namespace

TEST_CASE("a courier does one job at a time, in the order they came") {
  Courier courier;
  Loop loop;
  std::mutex mutex;
  std::vector<int> begun;
  int at_once = 0;
  int most = 0;
  for (int i = 0; i < 20; ++i) {
    courier.run(
        [&, i] {
          {
            const std::lock_guard lock(mutex);
            begun.push_back(i);
            most = std::max(most, ++at_once);
          }
          std::this_thread::yield();
          const std::lock_guard lock(mutex);
          --at_once;
          return SendResult::sent();
        },
        [post = loop.door()](const SendResult&) { post([] {}); });
  }
  for (int i = 0; i < 20; ++i)
    REQUIRE(loop.run_one());
  CHECK(most == 1);
  CHECK(std::is_sorted(begun.begin(), begun.end()));
  CHECK(begun.size() == 20);
}

TEST_CASE("a job that throws has failed with what it said, and the courier goes on") {
  Courier courier;
  const auto broken = come_of(courier, []() -> SendResult { throw std::runtime_error("out of paper"); });
  CHECK(broken.what == SendResult::What::failed);
  CHECK(broken.text == "out of paper");
  CHECK(come_of(courier, [] { return SendResult::sent(); }).what == SendResult::What::sent);
}

TEST_CASE("a courier takes no signals, so that a broken pipe does not end the program") {
  Courier courier;
  sigset_t blocked;
  sigemptyset(&blocked);
  come_of(courier, [&] {
    ::pthread_sigmask(SIG_SETMASK, nullptr, &blocked);
    return SendResult::sent();
  });
  CHECK(sigismember(&blocked, SIGPIPE) == 1);
  CHECK(sigismember(&blocked, SIGTERM) == 1);
}

TEST_CASE("a closed courier ends its job, drops the rest and takes nothing more") {
  Courier courier;
  Loop loop;
  Gate gate;
  Gate begun;
  int done = 0;
  bool second = false;
  courier.run(
      [&] {
        begun.open();
        gate.wait();
        return SendResult::sent();
      },
      [&, post = loop.door()](const SendResult&) { post([&] { ++done; }); });
  const auto never = [&] {
    second = true;
    return SendResult::sent();
  };
  courier.run(never, [](const SendResult&) {});
  begun.wait();
  courier.close();
  courier.run(never, [](const SendResult&) {});
  CHECK_FALSE(courier.ended_by(steady_clock::now()));
  gate.open();
  CHECK(courier.ended_by(steady_clock::now() + std::chrono::seconds(10)));
  REQUIRE(loop.run_one());
  CHECK(done == 1);
  CHECK_FALSE(second);
}

}  // namespace setwell::notices_test
