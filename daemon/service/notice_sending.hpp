#pragma once

#include "daemon/service/workshop.hpp"

/// From tellings to rows: the notice as `setwell notices` shows it, and one parcel per route.
namespace setwell::service {

/// Stores one telling and what goes out of it, in the caller's transaction.
void send(Workshop& workshop, const core::Telling& telling, quantity::Instant now);

/// The retained state of each piece that the tellings speak of, for the MQTT routes.
void send_states(Workshop& workshop, const std::vector<core::Telling>& tellings, quantity::Instant now);

}  // namespace setwell::service
