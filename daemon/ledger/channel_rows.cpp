#include "daemon/ledger/codes.hpp"
#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/ledger.hpp"

/// What is kept of a channel besides its readings: messages refused, and how it is.
namespace setwell::ledger {

namespace {

void store_refused(Connection& connection, const RefusedRow& row) {
  const auto reason = code_of(row.reason);
  connection.run(
      "INSERT INTO refused (source, topic, received_ms, reason, payload, payload_size) VALUES (?, ?, ?, ?, "
      "?, ?)",
      row.source, row.topic, row.received, reason, Blob{row.payload}, row.payload_size);
  connection.run(
      "INSERT INTO refused_count (source, reason, count, last_ms) VALUES (?, ?, 1, ?) ON CONFLICT DO UPDATE "
      "SET "
      "count = count + 1, last_ms = max(last_ms, excluded.last_ms)",
      row.source, reason, row.received);
  connection.run(
      "DELETE FROM refused WHERE source = ?1 AND id <= (SELECT id FROM refused WHERE source = ?1 "
      "ORDER BY id DESC LIMIT 1 OFFSET ?2)",
      row.source, Ledger::kRefusedKept);
}

}  // namespace

void Ledger::put_refused(const RefusedRow& row) {
  in_one_change(*connection_, [&] { store_refused(*connection_, row); });
}

std::vector<RefusedCount> Ledger::refused_counts() const {
  auto query =
      connection_->query("SELECT source, reason, count, last_ms FROM refused_count ORDER BY source, reason");
  std::vector<RefusedCount> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    std::int64_t reason = 0;
    query.into(row.source, reason, row.count, row.last);
    row.reason = refusal_of(reason);
  }
  return rows;
}

std::vector<RefusedRow> Ledger::refused(const std::string& source, int limit) const {
  auto query = connection_->query(
      "SELECT source, topic, received_ms, reason, payload, payload_size FROM refused WHERE source = ? "
      "ORDER BY id DESC LIMIT ?",
      source, limit);
  std::vector<RefusedRow> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    std::int64_t reason = 0;
    query.into(row.source, row.topic, row.received, reason, row.payload, row.payload_size);
    row.reason = refusal_of(reason);
  }
  return rows;
}

ChannelState Ledger::channel_state(ChannelNumber channel) const {
  auto query = connection_->query(
      "SELECT last_message_ms, last_good_ms, last_change_ms, last_value, qos, battery, online FROM "
      "channel_state "
      "WHERE channel = ?",
      channel);
  ChannelState state;
  if (query.next())
    query.into(state.last_message, state.last_good, state.last_change, state.last_value, state.qos,
               state.battery, state.online);
  return state;
}

void Ledger::set_channel_state(ChannelNumber channel, const ChannelState& state) {
  connection_->run("INSERT OR REPLACE INTO channel_state VALUES (?, ?, ?, ?, ?, ?, ?, ?)", channel,
                   state.last_message, state.last_good, state.last_change, state.last_value, state.qos,
                   state.battery, state.online);
}

}  // namespace setwell::ledger
