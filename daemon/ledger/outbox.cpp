#include "daemon/ledger/outbox.hpp"

#include "daemon/ledger/connection.hpp"

namespace setwell::ledger {

using quantity::Instant;
using quantity::RouteId;

namespace {

#define SETWELL_PARCEL_COLUMNS                                                                         \
  "SELECT id, route, idempotency_id, body, created_ms, collapse_key, drop_after_ms, state, attempts, " \
  "next_try_ms, settled_ms, last_error FROM parcel "

Delivery delivery_in(const Query& query) {
  Delivery row;
  auto& parcel = row.parcel;
  int state = 0;
  query.into(row.id, parcel.route, parcel.idempotency_id, parcel.body, parcel.created, parcel.collapse_key,
             parcel.drop_after, state, row.attempts, row.next_try, row.settled, row.last_error);
  row.state = static_cast<DeliveryState>(state);
  return row;
}

std::vector<Delivery> deliveries_in(Query& query) {
  std::vector<Delivery> rows;
  while (query.next())
    rows.push_back(delivery_in(query));
  return rows;
}

Outbox::Enqueued store(Connection& connection, const Parcel& parcel) {
  const int stored = connection.run(
      "INSERT INTO parcel (route, idempotency_id, body, created_ms, collapse_key, drop_after_ms, state, "
      "attempts, "
      "next_try_ms, last_error) VALUES (?1, ?2, ?3, ?4, ?5, ?6, 0, 0, ?4, '') ON CONFLICT DO NOTHING",
      parcel.route, parcel.idempotency_id, parcel.body, parcel.created, parcel.collapse_key,
      parcel.drop_after);
  if (stored == 0) return Outbox::Enqueued::already_there;
  if (!parcel.collapse_key.empty()) {
    connection.run(
        "UPDATE parcel SET state = 4, settled_ms = ? WHERE route = ? AND state = 0 AND collapse_key = ? AND "
        "id < ?",
        parcel.created, parcel.route, parcel.collapse_key, connection.last_row());
  }
  return Outbox::Enqueued::stored;
}

std::vector<Delivery> settle(Connection& connection, Instant now) {
  connection.run(
      "UPDATE parcel SET state = 3, settled_ms = ?1 WHERE state = 0 AND drop_after_ms IS NOT NULL AND "
      "drop_after_ms < ?1",
      now);
  std::vector<Delivery> overdue;
  {
    auto query = connection.query(SETWELL_PARCEL_COLUMNS "WHERE state = 0 AND created_ms <= ? ORDER BY id",
                                  now - kGiveUpAfter);
    overdue = deliveries_in(query);
  }
  for (auto& delivery : overdue) {
    delivery.state = DeliveryState::given_up;
    delivery.settled = now;
    connection.run("UPDATE parcel SET state = 2, settled_ms = ? WHERE id = ?", now, delivery.id);
  }
  return overdue;
}

}  // namespace

const char* word(DeliveryState state) {
  switch (state) {
    case DeliveryState::waiting:
      return "waiting";
    case DeliveryState::sent:
      return "sent";
    case DeliveryState::given_up:
      return "given-up";
    case DeliveryState::dropped:
      return "dropped";
    case DeliveryState::superseded:
      return "superseded";
  }
  return "";
}

Outbox::Enqueued Outbox::enqueue(const Parcel& parcel) {
  auto outcome = Enqueued::stored;
  in_one_change(*connection_, [&] { outcome = store(*connection_, parcel); });
  return outcome;
}

std::vector<Delivery> Outbox::due(const RouteId& route, Instant now, int limit) const {
  auto query = connection_->query(SETWELL_PARCEL_COLUMNS
                                  "WHERE route = ?1 AND state = 0 AND next_try_ms <= ?2 AND "
                                  "(drop_after_ms IS NULL OR drop_after_ms >= ?2) ORDER BY id LIMIT ?3",
                                  route, now, limit);
  return deliveries_in(query);
}

std::optional<Instant> Outbox::next_due() const {
  auto query = connection_->query("SELECT min(next_try_ms) FROM parcel WHERE state = 0");
  std::optional<Instant> next;
  if (query.next()) query.into(next);
  return next;
}

std::optional<Instant> Outbox::next_due(const RouteId& route) const {
  auto query = connection_->query("SELECT min(next_try_ms) FROM parcel WHERE route = ? AND state = 0", route);
  std::optional<Instant> next;
  if (query.next()) query.into(next);
  return next;
}

void Outbox::mark_sent(std::int64_t id, Instant at) {
  connection_->run(
      "UPDATE parcel SET state = 1, settled_ms = ?, attempts = attempts + 1 WHERE id = ? AND state <> 1", at,
      id);
}

void Outbox::mark_failed(std::int64_t id, Instant next_try, const std::string& error) {
  connection_->run(
      "UPDATE parcel SET attempts = attempts + 1, next_try_ms = ?, last_error = ? WHERE id = ? AND state = 0",
      next_try, error, id);
}

void Outbox::mark_given_up(std::int64_t id, Instant at) {
  connection_->run("UPDATE parcel SET state = 2, settled_ms = ? WHERE id = ? AND state = 0", at, id);
}

std::vector<Delivery> Outbox::settle_overdue(Instant now) {
  std::vector<Delivery> given_up;
  in_one_change(*connection_, [&] { given_up = settle(*connection_, now); });
  return given_up;
}

int Outbox::prune(Instant before, int most) {
  return connection_->run(
      "DELETE FROM parcel WHERE id IN (SELECT id FROM parcel WHERE state <> 0 AND settled_ms < ? ORDER BY id "
      "LIMIT ?)",
      before, most);
}

std::vector<RouteCounts> Outbox::counts() const {
  auto query = connection_->query(
      "SELECT route, sum(state = 0), sum(state = 1), sum(state = 2), sum(state = 3), sum(state = 4), "
      "min(CASE state WHEN 0 THEN created_ms END), max(CASE state WHEN 1 THEN settled_ms END), "
      "coalesce((SELECT w.last_error FROM parcel w WHERE w.route = p.route AND w.state = 0 AND w.last_error "
      "<> '' "
      "ORDER BY w.id DESC LIMIT 1), ''), max(CASE state WHEN 2 THEN settled_ms END), "
      "coalesce((SELECT g.last_error FROM parcel g WHERE g.route = p.route AND g.state = 2 "
      "ORDER BY g.settled_ms DESC, g.id DESC LIMIT 1), '') FROM parcel p GROUP BY route ORDER BY route");
  std::vector<RouteCounts> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    query.into(row.route, row.waiting, row.sent, row.given_up, row.dropped, row.superseded,
               row.oldest_waiting, row.last_sent, row.last_error, row.last_given_up, row.given_up_error);
  }
  return rows;
}

std::vector<Delivery> Outbox::deliveries(const std::string& idempotency_id) const {
  auto query =
      connection_->query(SETWELL_PARCEL_COLUMNS "WHERE idempotency_id = ? ORDER BY id", idempotency_id);
  return deliveries_in(query);
}

}  // namespace setwell::ledger
