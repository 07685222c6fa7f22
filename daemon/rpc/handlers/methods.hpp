#pragma once

#include <functional>
#include <vector>

#include "daemon/rpc/method_table.hpp"
#include "daemon/service/workshop.hpp"

namespace setwell::rpc {

/// What the methods need of the daemon around the workshop. All but `records` are called on the loop.
struct Around {
  std::function<quantity::Instant()> now;  ///< the time it is, rehearsed or real
  std::function<void()> look;              ///< bring `Workshop::around` up to date before an answer
  std::function<void()> changed;           ///< something was logged: rules, timer, outbox
  service::OpenRecords records;            ///< for the reader, on its thread
};

/// Every method of the workshop, in the order of the manual. `workshop` must outlive them.
[[nodiscard]] std::vector<Method> workshop_methods(service::Workshop& workshop, Around around);

}  // namespace setwell::rpc
