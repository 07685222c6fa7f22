#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/ledger.hpp"

/// The inbox's mark, checkpoints and memos.
namespace setwell::ledger {

using quantity::EntryId;
using quantity::Instant;

InboxMark Ledger::inbox_mark() const {
  auto query = connection_->query("SELECT generation, taken_upto FROM inbox_mark");
  InboxMark mark;
  std::int64_t generation = 0;
  if (query.next()) query.into(generation, mark.taken_upto);
  mark.generation = static_cast<std::uint64_t>(generation);
  return mark;
}

void Ledger::set_inbox_mark(const InboxMark& mark) {
  connection_->run("INSERT OR REPLACE INTO inbox_mark (one, generation, taken_upto) VALUES (1, ?, ?)",
                   static_cast<std::int64_t>(mark.generation), mark.taken_upto);
}

void Ledger::save_checkpoint(EntryId coat, Instant at, int engine_version, const std::string& blob) {
  connection_->run(
      "INSERT OR REPLACE INTO checkpoint (coat, at_ms, engine_version, blob) VALUES (?, ?, ?, ?)", coat, at,
      engine_version, Blob{blob});
}

std::optional<Checkpoint> Ledger::checkpoint_at_or_before(EntryId coat, Instant at,
                                                          int engine_version) const {
  auto query = connection_->query(
      "SELECT coat, at_ms, engine_version, blob FROM checkpoint WHERE coat = ? AND at_ms <= ? AND "
      "engine_version = ? ORDER BY at_ms DESC LIMIT 1",
      coat, at, engine_version);
  if (!query.next()) return std::nullopt;
  Checkpoint found;
  query.into(found.coat, found.at, found.engine_version, found.blob);
  return found;
}

void Ledger::drop_checkpoints_after(EntryId coat, Instant at) {
  connection_->run("DELETE FROM checkpoint WHERE coat = ? AND at_ms > ?", coat, at);
}

void Ledger::drop_checkpoints(EntryId coat) {
  connection_->run("DELETE FROM checkpoint WHERE coat = ?", coat);
}

void Ledger::set_forecast_state(const quantity::ZoneId& zone, Instant at, const std::string& state) {
  connection_->run("INSERT OR REPLACE INTO forecast (zone, at_ms, state) VALUES (?, ?, ?)", zone.text(), at,
                   Blob{state});
}

std::optional<std::string> Ledger::forecast_state(const quantity::ZoneId& zone) const {
  auto query = connection_->query("SELECT state FROM forecast WHERE zone = ?", zone.text());
  if (!query.next()) return std::nullopt;
  std::string state;
  query.into(state);
  return state;
}

std::optional<std::string> Ledger::memo(const std::string& key) const {
  auto query = connection_->query("SELECT value FROM memo WHERE key = ?", key);
  if (!query.next()) return std::nullopt;
  std::string value;
  query.into(value);
  return value;
}

void Ledger::set_memo(const std::string& key, const std::string& value) {
  connection_->run("INSERT OR REPLACE INTO memo (key, value) VALUES (?, ?)", key, value);
}

}  // namespace setwell::ledger
