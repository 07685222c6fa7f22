#include "daemon/notices/routes/command.hpp"

#include <string_view>

#include <fmt/format.h>
#include <sys/wait.h>

#include "daemon/notices/routes/child.hpp"
#include "daemon/notices/routes/mqtt.hpp"

namespace setwell::notices {
namespace {

/// How often a running program is looked at.
constexpr std::chrono::milliseconds kLook{20};

SendResult ended(int status, Child& child) {
  if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return SendResult::sent();
  auto how = WIFSIGNALED(status) ? fmt::format("ended by signal {}", WTERMSIG(status))
                                 : fmt::format("ended with {}", WEXITSTATUS(status));
  const auto words = child.last_words();
  return SendResult::failed(words.empty() ? how : how + ": " + words);
}

}  // namespace

SendResult CommandRoute::send(const ledger::Delivery& delivery) {
  if (piece_of(delivery.parcel)) return SendResult::final("a piece's state goes to brokers only");
  auto child = Child::start(argv_);
  if (!child) return SendResult::failed(child.error().detail);
  std::string_view input = delivery.parcel.body;
  const auto deadline = std::chrono::steady_clock::now() + limit_;
  while (std::chrono::steady_clock::now() < deadline && !cancelled_) {
    child->feed(input, kLook);
    if (const auto status = child->status()) return ended(*status, *child);
  }
  child->kill_all();
  if (cancelled_) return SendResult::failed("stopped with the daemon");
  return SendResult::failed(
      fmt::format("killed: it had not ended after {:.0f} s", std::chrono::duration<double>(limit_).count()));
}

}  // namespace setwell::notices
