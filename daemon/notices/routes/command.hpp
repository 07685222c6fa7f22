#pragma once

#include <atomic>
#include <chrono>
#include <string>
#include <vector>

#include "daemon/notices/route_sender.hpp"

namespace setwell::notices {

/// Longer than this no command may take; then it and its process group are killed.
inline constexpr std::chrono::milliseconds kCommandLimit = std::chrono::seconds(30);

/// Runs a program per message, without a shell, the body on its standard input. Sent when it ends with 0; any
/// other end, no end within the limit, and a program that cannot be started are `failed`: the maker may mend
/// it. A piece's state is `final` here: it is for brokers, which keep it. Blocks for up to the limit;
/// `cancel` kills what runs. Call `send` where SIGPIPE is blocked (a courier is).
class CommandRoute : public RouteSender {
 public:
  explicit CommandRoute(std::vector<std::string> argv, std::chrono::milliseconds limit = kCommandLimit)
      : argv_(std::move(argv)), limit_(limit) {}
  [[nodiscard]] SendResult send(const ledger::Delivery& delivery) override;
  void cancel() noexcept override { cancelled_ = true; }

 private:
  std::vector<std::string> argv_;
  std::chrono::milliseconds limit_;
  std::atomic<bool> cancelled_ = false;
};

}  // namespace setwell::notices
