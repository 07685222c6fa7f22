#include "daemon/ledger/read_only_ledger.hpp"

#include "daemon/ledger/entries.hpp"
#include "daemon/ledger/kinds.hpp"
#include "daemon/ledger/readings.hpp"
#include "daemon/ledger/upkeep.hpp"

namespace setwell::ledger {

using quantity::Result;

Result<ReadOnlyLedger> ReadOnlyLedger::open(const std::filesystem::path& file,
                                            const std::atomic<bool>* give_up) {
  auto opened = open_database(file, ledger_kind(), Access::read_only);
  if (!opened) return opened.error();
  if (give_up != nullptr) give_up_when((*opened)->database(), *give_up);
  return ReadOnlyLedger(std::move(*opened), give_up);
}

ReadOnlyLedger::ReadOnlyLedger(std::unique_ptr<Connection> connection, const std::atomic<bool>* give_up)
    : connection_(std::move(connection)), give_up_(give_up) {}
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

std::int64_t ReadOnlyLedger::entry_count() const {
  return connection_->number("SELECT count(*) FROM entry");
}
std::int64_t ReadOnlyLedger::reading_count() const {
  return connection_->number("SELECT count(*) FROM reading");
}

std::vector<TrustedReading> ReadOnlyLedger::trusted(ChannelNumber channel, quantity::Instant from,
                                                    quantity::Instant to, int most) const {
  return trusted_between(*connection_, channel, from, to, most);
}
void ReadOnlyLedger::visit_readings(ChannelNumber channel, quantity::Instant from, quantity::Instant to,
                                    const std::function<bool(const StoredReading&)>& visitor) const {
  visit_by_days(*connection_, channel, from, to, visitor);
}

Result<void> ReadOnlyLedger::quick_check() const {
  return ledger::quick_check(*connection_);
}
Result<void> ReadOnlyLedger::backup_to(const std::filesystem::path& file) const {
  return back_up(*connection_, file, give_up_);
}

}  // namespace setwell::ledger
