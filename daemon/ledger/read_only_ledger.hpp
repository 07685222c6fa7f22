#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/ledger/rows.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::ledger {

class Connection;

/// A second connection that only reads, for long work beside the loop. Sees what was committed. Thread: one
/// at a time, the reader. Any function may throw as `fault.hpp` says.
class ReadOnlyLedger {
 public:
  /// Fails like Ledger::open, and with `not_found` where there is no such file. Never makes or changes one.
  [[nodiscard]] static quantity::Result<ReadOnlyLedger> open(const std::filesystem::path& file);
  ReadOnlyLedger(ReadOnlyLedger&&) noexcept;
  ReadOnlyLedger& operator=(ReadOnlyLedger&&) noexcept;
  ~ReadOnlyLedger();

  [[nodiscard]] Mode mode() const;
  [[nodiscard]] std::vector<EntryRow> entries() const;
  [[nodiscard]] std::vector<EditionRow> editions() const;
  [[nodiscard]] std::vector<ChannelRow> channels() const;
  /// As Ledger::visit_readings: a day at a time, no read transaction lasts.
  void visit_readings(ChannelNumber channel, quantity::Instant from, quantity::Instant to,
                      const std::function<bool(const StoredReading&)>& visitor) const;
  /// As in Ledger. Both hold one read transaction throughout, so no log is emptied meanwhile.
  [[nodiscard]] quantity::Result<void> quick_check() const;
  [[nodiscard]] quantity::Result<void> backup_to(const std::filesystem::path& file) const;

 private:
  explicit ReadOnlyLedger(std::unique_ptr<Connection> connection);
  std::unique_ptr<Connection> connection_;
};

}  // namespace setwell::ledger
