#include "daemon/ledger/read_only_ledger.hpp"

#include "daemon/ledger/entries.hpp"
#include "daemon/ledger/kinds.hpp"
#include "daemon/ledger/readings.hpp"
#include "daemon/ledger/upkeep.hpp"

namespace setwell::ledger {

using quantity::Result;

Result<ReadOnlyLedger> ReadOnlyLedger::open(const std::filesystem::path& file) {
  auto opened = open_database(file, ledger_kind(), Access::read_only);
  if (!opened) return opened.error();
  return ReadOnlyLedger(std::move(*opened));
}

ReadOnlyLedger::ReadOnlyLedger(std::unique_ptr<Connection> connection) : connection_(std::move(connection)) {}
ReadOnlyLedger::ReadOnlyLedger(ReadOnlyLedger&&) noexcept = default;
ReadOnlyLedger& ReadOnlyLedger::operator=(ReadOnlyLedger&&) noexcept = default;
ReadOnlyLedger::~ReadOnlyLedger() = default;

Mode ReadOnlyLedger::mode() const {
  return mode_of(*connection_);
}
std::vector<EntryRow> ReadOnlyLedger::entries() const {
  return entries_after(*connection_, quantity::EntryId());
}
std::vector<EditionRow> ReadOnlyLedger::editions() const {
  return all_editions(*connection_);
}
std::vector<ChannelRow> ReadOnlyLedger::channels() const {
  return all_channels(*connection_);
}

void ReadOnlyLedger::visit_readings(ChannelNumber channel, quantity::Instant from, quantity::Instant to,
                                    const std::function<bool(const StoredReading&)>& visitor) const {
  visit_by_days(*connection_, channel, from, to, visitor);
}

Result<void> ReadOnlyLedger::quick_check() const {
  return ledger::quick_check(*connection_);
}
Result<void> ReadOnlyLedger::backup_to(const std::filesystem::path& file) const {
  return back_up(*connection_, file);
}

}  // namespace setwell::ledger
