#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/ledger.hpp"

namespace setwell::ledger {

using quantity::Instant;

namespace {

NoticeStateRow state_in(const Query& query) {
  NoticeStateRow row;
  query.into(row.subject, row.kind, row.state, row.since, row.last_told, row.generation, row.extra);
  return row;
}

NoticeRow notice_in(const Query& query) {
  NoticeRow row;
  query.into(row.id, row.subject, row.kind, row.piece, row.title, row.body, row.extra, row.generation,
             row.created, row.seen, row.closed);
  return row;
}

std::vector<NoticeRow> notices_in(Query& query) {
  std::vector<NoticeRow> rows;
  while (query.next())
    rows.push_back(notice_in(query));
  return rows;
}

#define SETWELL_NOTICE_COLUMNS                                                                       \
  "SELECT id, subject, kind, piece, title, body, extra, generation, created_ms, seen_ms, closed_ms " \
  "FROM notice "

}  // namespace

std::optional<NoticeStateRow> Ledger::notice_state(const std::string& subject,
                                                   const std::string& kind) const {
  auto query = connection_->query(
      "SELECT subject, kind, state, since_ms, last_told_ms, generation, extra FROM notice_state "
      "WHERE subject = ? AND kind = ?",
      subject, kind);
  if (!query.next()) return std::nullopt;
  return state_in(query);
}

void Ledger::put_notice_state(const NoticeStateRow& row) {
  connection_->run("INSERT OR REPLACE INTO notice_state VALUES (?, ?, ?, ?, ?, ?, ?)", row.subject, row.kind,
                   row.state, row.since, row.last_told, row.generation, row.extra);
}

std::vector<NoticeStateRow> Ledger::notice_states() const {
  auto query = connection_->query(
      "SELECT subject, kind, state, since_ms, last_told_ms, generation, extra FROM notice_state "
      "ORDER BY subject, kind");
  std::vector<NoticeStateRow> rows;
  while (query.next())
    rows.push_back(state_in(query));
  return rows;
}

std::int64_t Ledger::append_notice(const NoticeRow& row) {
  connection_->run(
      "INSERT INTO notice (subject, kind, piece, title, body, extra, generation, created_ms, seen_ms, "
      "closed_ms) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      row.subject, row.kind, row.piece, row.title, row.body, row.extra, row.generation, row.created, row.seen,
      row.closed);
  return connection_->last_row();
}

std::optional<NoticeRow> Ledger::notice(std::int64_t id) const {
  auto query = connection_->query(SETWELL_NOTICE_COLUMNS "WHERE id = ?", id);
  if (!query.next()) return std::nullopt;
  return notice_in(query);
}

std::vector<NoticeRow> Ledger::notices(int limit) const {
  auto query = connection_->query(SETWELL_NOTICE_COLUMNS "ORDER BY id DESC LIMIT ?", limit);
  return notices_in(query);
}

std::vector<NoticeRow> Ledger::open_notices() const {
  auto query =
      connection_->query(SETWELL_NOTICE_COLUMNS "WHERE seen_ms IS NULL AND closed_ms IS NULL ORDER BY id");
  return notices_in(query);
}

bool Ledger::mark_seen(std::int64_t id, Instant at) {
  return connection_->run("UPDATE notice SET seen_ms = ? WHERE id = ? AND seen_ms IS NULL", at, id) == 1;
}

void Ledger::close_notices(const std::string& subject, const std::string& kind, Instant at) {
  connection_->run(
      "UPDATE notice SET closed_ms = ? WHERE subject = ? AND kind = ? AND seen_ms IS NULL AND closed_ms IS "
      "NULL",
      at, subject, kind);
}

}  // namespace setwell::ledger
