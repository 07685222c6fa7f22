#pragma once

#include "daemon/notices/route_sender.hpp"
#include "daemon/runtime/log.hpp"

namespace setwell::notices {

/// One line of the daemon's log per message: the bytes of its body. Never blocks, never fails.
class LogRoute : public RouteSender {
 public:
  explicit LogRoute(runtime::Log log) : log_(std::move(log)) {}
  [[nodiscard]] SendResult send(const ledger::Delivery& delivery) override;

 private:
  runtime::Log log_;
};

}  // namespace setwell::notices
