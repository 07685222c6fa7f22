#include "daemon/ledger/readings.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/ledger/codes.hpp"
#include "daemon/ledger/ledger.hpp"

namespace setwell::ledger {

using quantity::Instant;
using quantity::Span;

namespace {

constexpr Span kVisitedAtOnce = std::chrono::hours(24);

/// What every query of whole readings answers, in the order `reading_in` reads.
#define SETWELL_READING_COLUMNS                                                                              \
  "SELECT r.channel, r.measured_ms, r.lag_ms, r.nth, r.value, r.number, r.facts, r.verdict, t.text, r.seq, " \
  "r.uptime, r.inbox_row FROM reading r JOIN topic t ON t.number = r.topic "
/// By time; what shares both times goes by what it says, so that the order of arrival decides nothing.
#define SETWELL_READING_ORDER "ORDER BY r.measured_ms, r.lag_ms, r.value, r.seq, r.nth"

StoredReading reading_in(const Query& query) {
  StoredReading row;
  auto& decoded = row.decoded;
  Span lag{};
  std::optional<double> number;
  std::int64_t facts = 0;
  std::int64_t verdict = 0;
  query.into(row.channel, decoded.measured, lag, row.nth, decoded.value, number, facts, verdict,
             decoded.topic, decoded.seq, decoded.uptime, row.inbox_row);
  decoded.received = decoded.measured + lag;
  decoded.number = number.value_or(decoded.value);
  apply_facts(facts, decoded);
  row.verdict = verdict_of(verdict);
  return row;
}

std::vector<StoredReading> readings_in(Query& query) {
  std::vector<StoredReading> rows;
  while (query.next())
    rows.push_back(reading_in(query));
  return rows;
}

std::vector<StoredReading> readings_between(Connection& connection, ChannelNumber channel, Instant from,
                                            Instant to) {
  auto query = connection.query(SETWELL_READING_COLUMNS
                                "WHERE r.channel = ? AND r.measured_ms >= ? AND r.measured_ms < "
                                "? " SETWELL_READING_ORDER,
                                channel, from, to);
  return readings_in(query);
}

std::optional<Instant> first_measured(Connection& connection, ChannelNumber channel, Instant from,
                                      Instant to) {
  auto query = connection.query(
      "SELECT min(measured_ms) FROM reading WHERE channel = ? AND measured_ms >= ? AND measured_ms < ?",
      channel, from, to);
  std::optional<Instant> first;
  if (query.next()) query.into(first);
  return first;
}

/// Not a number cannot be stored; the decoder refuses it anyway.
double storable(double value) {
  return std::isnan(value) ? std::numeric_limits<double>::infinity() : value;
}

std::int64_t topic_number(Connection& connection, const std::string& topic) {
  {
    auto known = connection.query("SELECT number FROM topic WHERE text = ?", topic);
    std::int64_t number = 0;
    if (known.next()) {
      known.into(number);
      return number;
    }
  }
  connection.run("INSERT INTO topic (text) VALUES (?)", topic);
  return connection.last_row();
}

/// Where a new reading goes among those of the same channel and times.
struct Slot {
  bool taken = false;
  int nth = 0;
};

Slot slot_for(Connection& connection, const StoredReading& reading, std::int64_t topic) {
  const auto& decoded = reading.decoded;
  auto query = connection.query(
      "SELECT nth, value, number, topic, seq, uptime FROM reading WHERE channel = ? AND measured_ms = ? AND "
      "lag_ms = ? ORDER BY nth",
      reading.channel, decoded.measured, decoded.received - decoded.measured);
  Slot slot;
  while (query.next()) {
    double value = 0.0;
    std::optional<double> number;
    std::int64_t by_topic = 0;
    std::optional<std::int64_t> seq;
    std::optional<double> uptime;
    query.into(slot.nth, value, number, by_topic, seq, uptime);
    if (value == storable(decoded.value) && number.value_or(value) == storable(decoded.number) &&
        by_topic == topic && seq == decoded.seq && uptime == decoded.uptime)
      return {true, slot.nth};
    ++slot.nth;
  }
  return slot;
}

Ledger::PutReading put_reading(Connection& connection, const StoredReading& reading) {
  const auto& decoded = reading.decoded;
  const auto topic = topic_number(connection, decoded.topic);
  const auto slot = slot_for(connection, reading, topic);
  const ReadingKey key{decoded.measured, decoded.received, slot.nth};
  if (slot.taken) return {Ledger::Put::already_there, key};
  std::optional<double> number;
  if (decoded.number != decoded.value) number = storable(decoded.number);
  connection.run("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", reading.channel,
                 decoded.measured, decoded.received - decoded.measured, slot.nth, storable(decoded.value),
                 number, facts_of(decoded), code_of(reading.verdict), topic, decoded.seq, decoded.uptime,
                 reading.inbox_row);
  return {Ledger::Put::stored, key};
}

}  // namespace

std::vector<ChannelRow> all_channels(Connection& connection) {
  auto query = connection.query("SELECT number, id FROM channel ORDER BY number");
  std::vector<ChannelRow> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    query.into(row.number, row.id);
  }
  return rows;
}

void visit_by_days(Connection& connection, ChannelNumber channel, Instant from, Instant to,
                   const std::function<bool(const StoredReading&)>& visitor) {
  while (const auto first = first_measured(connection, channel, from, to)) {
    const auto end = *first < to - kVisitedAtOnce ? *first + kVisitedAtOnce : to;
    for (const auto& reading : readings_between(connection, channel, *first, end)) {
      if (!visitor(reading)) return;
    }
    from = end;
  }
}

std::vector<TrustedReading> trusted_between(Connection& connection, ChannelNumber channel, Instant from,
                                            Instant to, int most) {
  const auto good = code_of(ReadingVerdict{std::nullopt, quantity::Quality::good, true});
  const auto clamped = code_of(ReadingVerdict{std::nullopt, quantity::Quality::clamped, true});
  auto query = connection.query(
      "SELECT measured_ms, value, verdict FROM reading WHERE channel = ? AND measured_ms >= ? AND "
      "measured_ms < ? AND verdict IN (?, ?) ORDER BY measured_ms, lag_ms, value, seq, nth LIMIT ?",
      channel, from, to, good, clamped, most);
  std::vector<TrustedReading> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    std::int64_t verdict = 0;
    query.into(row.measured, row.value, verdict);
    row.quality = verdict_of(verdict).quality;
  }
  return rows;
}

ChannelNumber Ledger::channel_number(const quantity::ChannelId& id) {
  {
    auto known = connection_->query("SELECT number FROM channel WHERE id = ?", id);
    ChannelNumber number;
    if (known.next()) {
      known.into(number);
      return number;
    }
  }
  connection_->run("INSERT INTO channel (id) VALUES (?)", id);
  return ChannelNumber(connection_->last_row());
}

std::vector<ChannelRow> Ledger::channels() const {
  return all_channels(*connection_);
}

Ledger::PutReading Ledger::put(const StoredReading& reading) {
  PutReading done;
  in_one_change(*connection_, [&] { done = put_reading(*connection_, reading); });
  return done;
}

bool Ledger::set_verdict(ChannelNumber channel, const ReadingKey& key, const ReadingVerdict& verdict) {
  return connection_->run(
             "UPDATE reading SET verdict = ? WHERE channel = ? AND measured_ms = ? AND lag_ms = ? AND nth = "
             "?",
             code_of(verdict), channel, key.measured, key.received - key.measured, key.nth) == 1;
}

int Ledger::delete_readings_after(Instant at) {
  return connection_->run("DELETE FROM reading WHERE measured_ms > ?", at);
}

std::vector<StoredReading> Ledger::readings(ChannelNumber channel, Instant from, Instant to) const {
  return readings_between(*connection_, channel, from, to);
}

void Ledger::visit_readings(ChannelNumber channel, Instant from, Instant to,
                            const ReadingVisitor& visitor) const {
  visit_by_days(*connection_, channel, from, to, visitor);
}

std::vector<StoredReading> Ledger::neighbours(ChannelNumber channel, Instant at, int before,
                                              int after) const {
  std::vector<StoredReading> rows;
  {
    auto query = connection_->query(SETWELL_READING_COLUMNS
                                    "WHERE r.channel = ? AND r.measured_ms < ? ORDER BY r.measured_ms DESC, "
                                    "r.lag_ms DESC, r.value DESC, r.seq DESC, r.nth DESC LIMIT ?",
                                    channel, at, before);
    rows = readings_in(query);
  }
  std::reverse(rows.begin(), rows.end());
  for (auto& row : readings_between(*connection_, channel, at, at + Span(1)))
    rows.push_back(std::move(row));
  auto query = connection_->query(
      SETWELL_READING_COLUMNS "WHERE r.channel = ? AND r.measured_ms > ? " SETWELL_READING_ORDER " LIMIT ?",
      channel, at, after);
  while (query.next())
    rows.push_back(reading_in(query));
  return rows;
}

std::optional<StoredReading> Ledger::newest(ChannelNumber channel) const {
  auto query =
      connection_->query(SETWELL_READING_COLUMNS
                         "WHERE r.channel = ? ORDER BY r.measured_ms DESC, r.lag_ms DESC, r.value DESC, "
                         "r.seq DESC, r.nth DESC LIMIT 1",
                         channel);
  if (!query.next()) return std::nullopt;
  return reading_in(query);
}

std::vector<TrustedReading> Ledger::trusted(ChannelNumber channel, Instant from, Instant to) const {
  return trusted_between(*connection_, channel, from, to, -1);
}

std::int64_t Ledger::reading_count(ChannelNumber channel) const {
  auto query = connection_->query("SELECT count(*) FROM reading WHERE channel = ?", channel);
  std::int64_t count = 0;
  if (query.next()) query.into(count);
  return count;
}

int Ledger::delete_readings_before(Instant before, int most) {
  int deleted = 0;
  in_one_change(*connection_, [&] {
    for (const auto& channel : channels()) {
      if (deleted >= most) return;
      deleted += connection_->run(
          "DELETE FROM reading WHERE (channel, measured_ms, lag_ms, nth) IN (SELECT channel, measured_ms, "
          "lag_ms, "
          "nth FROM reading WHERE channel = ? AND measured_ms < ? ORDER BY measured_ms LIMIT ?)",
          channel.number, before, most - deleted);
    }
  });
  return deleted;
}

}  // namespace setwell::ledger
