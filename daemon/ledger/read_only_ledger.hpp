#pragma once

#include <atomic>
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
  /// Long work ends with an exception soon after `give_up` is set, which must outlive this.
  [[nodiscard]] static quantity::Result<ReadOnlyLedger> open(const std::filesystem::path& file,
                                                             const std::atomic<bool>* give_up = nullptr);
  ReadOnlyLedger(ReadOnlyLedger&&) noexcept;
  ReadOnlyLedger& operator=(ReadOnlyLedger&&) noexcept;
  ~ReadOnlyLedger();

  [[nodiscard]] Mode mode() const;
  [[nodiscard]] std::vector<EntryRow> entries() const;
  [[nodiscard]] std::vector<EditionRow> editions() const;
  [[nodiscard]] std::vector<ChannelRow> channels() const;
  [[nodiscard]] std::int64_t entry_count() const;
  /// Of all channels; walks all rows.
  [[nodiscard]] std::int64_t reading_count() const;
  /// As Ledger::trusted, the first `most` of them.
  [[nodiscard]] std::vector<TrustedReading> trusted(ChannelNumber channel, quantity::Instant from,
                                                    quantity::Instant to, int most) const;
  /// As Ledger::visit_readings: a day at a time, no read transaction lasts.
  void visit_readings(ChannelNumber channel, quantity::Instant from, quantity::Instant to,
                      const std::function<bool(const StoredReading&)>& visitor) const;
  /// Both hold one read transaction throughout, so no log is emptied meanwhile.
  /// `invalid` with what was found.
  [[nodiscard]] quantity::Result<void> quick_check() const;
  /// A checked copy: written under a temporary name in the same folder, examined, flushed, renamed. `refused`
  /// where the file exists already, `invalid` where the copy does not pass, `not_found` where the folder
  /// cannot be written. Blocks as long as it takes.
  [[nodiscard]] quantity::Result<void> backup_to(const std::filesystem::path& file) const;

 private:
  ReadOnlyLedger(std::unique_ptr<Connection> connection, const std::atomic<bool>* give_up);
  std::unique_ptr<Connection> connection_;
  const std::atomic<bool>* give_up_;
};

}  // namespace setwell::ledger
