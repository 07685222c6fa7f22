#pragma once

#include <vector>

#include "daemon/ledger/ledger.hpp"
#include "sensors/screen/screen.hpp"

/// What screening looks at, without asking the ledger again for every message.
namespace setwell::service {

/// The stored readings at the end of one channel's series: a cache of the ledger. Readings before it are
/// asked for there. Thread: loop only.
class NewestReadings {
 public:
  /// The stored readings that screening around a moment may look at, two reaches to either side, in the order
  /// of `screen::earlier`.
  [[nodiscard]] std::vector<ledger::StoredReading> around(ledger::ChannelNumber channel,
                                                          const screen::Rules& rules, quantity::Instant at,
                                                          const ledger::Ledger& ledger);
  /// Something was stored among those measured at a moment.
  void stored_at(ledger::ChannelNumber channel, quantity::Instant measured, const ledger::Ledger& ledger);
  void set_verdict(const ledger::ReadingKey& key, const ledger::ReadingVerdict& verdict);

 private:
  using Rows = std::vector<ledger::StoredReading>;
  /// Those measured before a moment.
  [[nodiscard]] std::size_t count_before(quantity::Instant at) const;
  [[nodiscard]] bool covers(const screen::Reach& reach, quantity::Instant at) const;
  void fetch(ledger::ChannelNumber channel, const screen::Reach& reach, quantity::Instant at,
             const ledger::Ledger& ledger);
  void forget_before(std::size_t first);

  /// Everything measured from `from_` on, in the order of `screen::earlier`.
  Rows rows_;
  quantity::Instant from_ = quantity::Instant::max();
  bool from_the_first_ = false;  ///< the series begins with them
};

}  // namespace setwell::service
