#pragma once

#include <vector>

#include "daemon/service/workshop.hpp"

/// What is told of no piece.
namespace setwell::service {

/// The end of pot life of each open batch.
[[nodiscard]] std::vector<core::NoticeFact> batch_facts(Workshop& workshop, quantity::Instant now);

/// Sensors that an uncured coat waits for, batteries, the broker and the disk.
[[nodiscard]] std::vector<core::NoticeFact> house_facts(const Workshop& workshop, quantity::Instant now);

}  // namespace setwell::service
