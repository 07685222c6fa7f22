#pragma once

#include "daemon/service/workshop.hpp"

namespace setwell::service {

/// Everything that might be told at `now`, about coats, batches, sensors, broker and disk.
[[nodiscard]] std::vector<core::NoticeFact> notice_facts(Workshop& workshop, quantity::Instant now);

/// `coat/41`, the subject of everything told about a coat.
[[nodiscard]] std::string subject_of(quantity::EntryId coat);

}  // namespace setwell::service
