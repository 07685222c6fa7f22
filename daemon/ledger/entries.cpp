#include "daemon/ledger/entries.hpp"

#include "daemon/ledger/ledger.hpp"

namespace setwell::ledger {

using quantity::EditionId;
using quantity::EntryId;

std::vector<EntryRow> entries_after(Connection& connection, EntryId id) {
  auto query = connection.query(
      "SELECT id, kind, piece, said_at_ms, happened_at_ms, happened_error_ms, body FROM entry WHERE id > ? "
      "ORDER BY id",
      id);
  std::vector<EntryRow> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    query.into(row.id, row.kind, row.piece, row.said, row.happened, row.error, row.body);
  }
  return rows;
}

namespace {

EditionRow edition_in(const Query& query) {
  EditionRow row;
  query.into(row.id, row.sheet, row.sha256, row.text, row.loaded_at);
  return row;
}

}  // namespace

std::vector<EditionRow> all_editions(Connection& connection) {
  auto query = connection.query("SELECT id, sheet, sha256, text, loaded_at_ms FROM edition ORDER BY id");
  std::vector<EditionRow> rows;
  while (query.next())
    rows.push_back(edition_in(query));
  return rows;
}

EntryId Ledger::append(const EntryRow& row) {
  connection_->run(
      "INSERT INTO entry (kind, piece, said_at_ms, happened_at_ms, happened_error_ms, body) "
      "VALUES (?, ?, ?, ?, ?, ?)",
      row.kind, row.piece, row.said, row.happened, row.error, row.body);
  return EntryId(connection_->last_row());
}

std::vector<EntryRow> Ledger::entries() const {
  return ledger::entries_after(*connection_, EntryId());
}
std::vector<EntryRow> Ledger::entries_after(EntryId id) const {
  return ledger::entries_after(*connection_, id);
}

EditionId Ledger::edition_of(const quantity::SheetId& sheet, const std::string& sha256,
                             const std::string& text, quantity::Instant loaded_at) {
  {
    auto known = connection_->query("SELECT id FROM edition WHERE sheet = ? AND sha256 = ?", sheet, sha256);
    EditionId id;
    if (known.next()) {
      known.into(id);
      return id;
    }
  }
  connection_->run("INSERT INTO edition (sheet, sha256, text, loaded_at_ms) VALUES (?, ?, ?, ?)", sheet,
                   sha256, text, loaded_at);
  return EditionId(connection_->last_row());
}

std::optional<EditionRow> Ledger::edition(EditionId id) const {
  auto query =
      connection_->query("SELECT id, sheet, sha256, text, loaded_at_ms FROM edition WHERE id = ?", id);
  if (!query.next()) return std::nullopt;
  return edition_in(query);
}

std::optional<EditionRow> Ledger::newest_edition(const quantity::SheetId& sheet) const {
  auto query = connection_->query(
      "SELECT id, sheet, sha256, text, loaded_at_ms FROM edition WHERE sheet = ? "
      "ORDER BY loaded_at_ms DESC, id DESC LIMIT 1",
      sheet);
  if (!query.next()) return std::nullopt;
  return edition_in(query);
}

std::vector<EditionRow> Ledger::editions() const {
  return all_editions(*connection_);
}

}  // namespace setwell::ledger
