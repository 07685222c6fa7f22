#include "daemon/ledger/connection.hpp"

#include <sqlite3.h>

#include "daemon/ledger/ledger.hpp"

namespace setwell::ledger {
namespace {

/// Steps of SQLite's machine between two looks at the flag: well under a millisecond.
constexpr int kStepsBetweenLooks = 10000;

}  // namespace

Connection::Connection(const std::filesystem::path& file, int flags)
    : file_(file), database_(file.string(), flags) {}

SQLite::Statement& Connection::prepared(std::string_view sql) {
  const auto known = statements_.find(sql);
  if (known != statements_.end()) return known->second;
  return statements_.emplace(sql, SQLite::Statement(database_, std::string(sql))).first->second;
}

std::int64_t Connection::number(const std::string& sql) {
  return database_.execAndGet(sql).getInt64();
}

bool Connection::in_transaction() const {
  return sqlite3_get_autocommit(database_.getHandle()) == 0;
}

void give_up_when(SQLite::Database& database, const std::atomic<bool>& flag) {
  sqlite3_progress_handler(
      database.getHandle(), kStepsBetweenLooks,
      [](void* watched) { return static_cast<const std::atomic<bool>*>(watched)->load() ? 1 : 0; },
      const_cast<std::atomic<bool>*>(&flag));
}

void in_one_change(Connection& connection, const std::function<void()>& work) {
  if (connection.in_transaction()) {
    work();
    return;
  }
  Transaction transaction(connection);
  work();
  transaction.commit();
}

}  // namespace setwell::ledger
