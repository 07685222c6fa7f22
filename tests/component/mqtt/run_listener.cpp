#define CATCH_CONFIG_EXTERNAL_INTERFACES
#include <cstdio>
#include <cstdlib>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "tests/support/broker.hpp"

namespace {

constexpr int kSkipped = 77;

/// As the daemon does: a connection that was abandoned may still be at work while the program ends.
void leave_at_once(int status, void*) {
  std::fflush(nullptr);
  ::_exit(status);
}

/// Without a broker to start the whole program counts as skipped.
class RunListener : public Catch::TestEventListenerBase {
 public:
  using TestEventListenerBase::TestEventListenerBase;
  void testRunStarting(const Catch::TestRunInfo&) override {
    if (!setwell::test::Broker::installed()) {
      std::puts("skipped: there is no broker to start");
      leave_at_once(kSkipped, nullptr);
    }
    ::on_exit(&leave_at_once, nullptr);
  }
};
CATCH_REGISTER_LISTENER(RunListener)

}  // namespace
