#include "daemon/ledger/open.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

namespace setwell::ledger {

using quantity::Error;
using quantity::invalid;
using quantity::not_found;
using quantity::refused;
using quantity::Result;

namespace {

bool is_blank(Connection& connection) {
  return connection.number("PRAGMA user_version") == 0 && connection.number("PRAGMA application_id") == 0 &&
         connection.number("SELECT count(*) FROM sqlite_schema") == 0;
}

Result<void> check_identity(Connection& connection, const FileKind& kind) {
  if (connection.number("PRAGMA application_id") != kind.application_id) {
    return invalid(
        fmt::format("{} is a database, but not Setwell's {}: name another file, or move this one away",
                    connection.file().string(), kind.name));
  }
  const auto version = connection.number("PRAGMA user_version");
  const auto known = static_cast<std::int64_t>(kind.migrations.size());
  if (version > known) {
    return invalid(
        fmt::format("{} was written by a newer setwelld (version {} of the {}, this program knows {}): "
                    "install that setwelld again, or restore a backup made before it",
                    connection.file().string(), version, kind.name, known));
  }
  return {};
}

void configure(Connection& connection, Access access) {
  connection.script("PRAGMA foreign_keys = ON");
  // A workshop's pages come again and again; the default would hold twice as many, for each connection.
  connection.script("PRAGMA cache_size = -1000");
  if (access == Access::read_only) return;
  connection.script(
      "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA journal_size_limit = 8388608;"
      "PRAGMA wal_autocheckpoint = 1000");
}

void migrate(Connection& connection, const FileKind& kind, std::int64_t from) {
  for (auto version = from; version < static_cast<std::int64_t>(kind.migrations.size()); ++version) {
    connection.script(std::string(kind.migrations[static_cast<std::size_t>(version)]));
    connection.script(fmt::format("PRAGMA user_version = {}", version + 1));
  }
}

/// Several processes may come here at once; only one makes the file.
void make_or_update(Connection& connection, const FileKind& kind,
                    const std::function<void(Connection&)>& make_first) {
  in_one_change(connection, [&] {
    const bool blank = is_blank(connection);
    migrate(connection, kind, connection.number("PRAGMA user_version"));
    if (!blank) return;
    connection.script(fmt::format("PRAGMA application_id = {}", kind.application_id));
    if (make_first) make_first(connection);
  });
}

Result<std::unique_ptr<Connection>> open_it(const std::filesystem::path& file, const FileKind& kind,
                                            Access access,
                                            const std::function<void(Connection&)>& make_first) {
  const int flags =
      access == Access::read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
  auto connection = std::make_unique<Connection>(file, flags);
  connection->database().setBusyTimeout(kBusyTimeoutMs);
  const bool blank = is_blank(*connection);
  if (!blank) {
    if (auto known = check_identity(*connection, kind); !known) return known.error();
  } else if (access == Access::read_only) {
    return invalid(fmt::format("{} is empty: no {} was made there yet", file.string(), kind.name));
  } else {
    // Only a file without any page takes this.
    connection->script("PRAGMA auto_vacuum = INCREMENTAL");
  }
  configure(*connection, access);
  const auto current = static_cast<std::int64_t>(kind.migrations.size());
  if (access == Access::read_write && connection->number("PRAGMA user_version") < current)
    make_or_update(*connection, kind, make_first);
  return connection;
}

}  // namespace

Error explained(const std::filesystem::path& file, std::string_view kind_name,
                const SQLite::Exception& thrown) {
  const auto name = file.string();
  switch (thrown.getErrorCode() & 0xff) {
    case SQLITE_NOTADB:
      return invalid(
          fmt::format("{} is no database, or its beginning is damaged: move it away with the files "
                      "{}-wal and {}-shm, then put the newest backup of the {} in its place",
                      name, name, name, kind_name));
    case SQLITE_CORRUPT:
      return invalid(
          fmt::format("{} is damaged ({}): move it away with the files {}-wal and {}-shm, then put "
                      "the newest backup of the {} in its place",
                      name, thrown.what(), name, name, kind_name));
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return refused(
          fmt::format("{} is held by another process for more than {} s: end that one, then try again", name,
                      kBusyTimeoutMs / 1000));
    case SQLITE_FULL:
      return refused(fmt::format("the disk of {} is full: make room, then try again", name));
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return not_found(
          fmt::format("{} cannot be opened or made ({}): see that its folder exists and belongs to "
                      "the user setwelld runs as",
                      name, thrown.what()));
    default:
      return refused(fmt::format("{} cannot be used: {}", name, thrown.what()));
  }
}

Result<std::unique_ptr<Connection>> open_database(const std::filesystem::path& file, const FileKind& kind,
                                                  Access access,
                                                  const std::function<void(Connection&)>& make_first) {
  try {
    return open_it(file, kind, access, make_first);
  } catch (const SQLite::Exception& thrown) {
    return explained(file, kind.name, thrown);
  }
}

}  // namespace setwell::ledger
