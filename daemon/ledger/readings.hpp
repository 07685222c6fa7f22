#pragma once

#include <functional>
#include <vector>

#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/rows.hpp"

/// Inside the ledger only: what both of its faces read.
namespace setwell::ledger {

[[nodiscard]] std::vector<ChannelRow> all_channels(Connection& connection);
/// As Ledger::trusted; `most` below 0 is no limit.
[[nodiscard]] std::vector<TrustedReading> trusted_between(Connection& connection, ChannelNumber channel,
                                                          quantity::Instant from, quantity::Instant to,
                                                          int most);
/// As Ledger::visit_readings.
void visit_by_days(Connection& connection, ChannelNumber channel, quantity::Instant from,
                   quantity::Instant to, const std::function<bool(const StoredReading&)>& visitor);

}  // namespace setwell::ledger
