#define CATCH_CONFIG_RUNNER
#include <cstdio>
#include <cstring>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "tests/support/broker.hpp"

namespace {

constexpr int kSkipped = 77;

bool lists(int count, char** arguments) {
  for (int i = 1; i < count; ++i)
    if (std::strncmp(arguments[i], "--list", 6) == 0) return true;
  return false;
}

}  // namespace

int main(int count, char** arguments) {
  if (!lists(count, arguments) && !setwell::test::Broker::installed()) {
    std::puts("skipped: there is no broker to start");
    return kSkipped;
  }
  const int failed = Catch::Session().run(count, arguments);
  std::fflush(nullptr);
  // As the daemon does: a connection that was abandoned may still be at work.
  ::_exit(failed == 0 ? 0 : 1);
}
