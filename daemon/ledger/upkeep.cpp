#include "daemon/ledger/upkeep.hpp"

#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <sqlite3.h>
#include <unistd.h>

#include "daemon/ledger/ledger.hpp"
#include "daemon/ledger/open.hpp"

namespace setwell::ledger {

using quantity::invalid;
using quantity::not_found;
using quantity::refused;
using quantity::Result;
namespace fs = std::filesystem;

namespace {

/// The first few of the lines a check answers; empty when all is well.
std::string findings(SQLite::Database& database, const char* check) {
  SQLite::Statement statement(database, check);
  std::string found;
  for (int lines = 0; statement.executeStep() && lines < 5; ++lines) {
    const auto line = statement.getColumn(0).getString();
    if (line != "ok") found += (found.empty() ? "" : "; ") + line;
  }
  return found;
}

Result<void> examine_copy(const fs::path& copy, const std::atomic<bool>* give_up) {
  SQLite::Database database(copy.string(), SQLITE_OPEN_READONLY);
  if (give_up != nullptr) give_up_when(database, *give_up);
  const auto found = findings(database, "PRAGMA integrity_check");
  if (found.empty()) return {};
  return invalid(
      fmt::format("the copy did not pass its examination ({}); no backup was made. Examine the ledger: "
                  "setwell status",
                  found));
}

/// A file, or a folder after something was renamed in it.
Result<void> flush(const fs::path& path) {
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  const bool flushed = descriptor >= 0 && ::fsync(descriptor) == 0;
  const int why = errno;
  if (descriptor >= 0) ::close(descriptor);
  if (flushed) return {};
  return refused(fmt::format("{} cannot be flushed to the disk: {}", path.string(),
                             std::generic_category().message(why)));
}

fs::path folder_of(const fs::path& file) {
  return file.has_parent_path() ? file.parent_path() : fs::path(".");
}

Result<void> copy_to(Connection& connection, const fs::path& part, const std::atomic<bool>* give_up) {
  connection.run("VACUUM INTO ?", part.string());
  return examine_copy(part, give_up);
}

Result<void> put_in_place(const fs::path& part, const fs::path& file) {
  if (auto flushed = flush(part); !flushed) return flushed;
  // Not a rename: whatever came to lie there meanwhile is not written over.
  std::error_code error;
  fs::create_hard_link(part, file, error);
  if (error == std::errc::file_exists)
    return refused(fmt::format("{} exists already: name another file", file.string()));
  if (error) fs::rename(part, file, error);
  if (error) return refused(fmt::format("{} cannot be made: {}", file.string(), error.message()));
  return flush(folder_of(file));
}

Result<void> back_up_through(Connection& connection, const fs::path& part, const fs::path& file,
                             const std::atomic<bool>* give_up) {
  try {
    if (auto copied = copy_to(connection, part, give_up); !copied) return copied;
    return put_in_place(part, file);
  } catch (const SQLite::Exception& thrown) {
    if (thrown.getErrorCode() == SQLITE_INTERRUPT)
      return refused("no backup was made: setwelld is stopping; ask again when it runs");
    const auto fault = storage_fault(thrown);
    if (fault == StorageFault::damaged) return explained(connection.file(), "ledger", thrown);
    return refused(fmt::format("no backup was made: {} ({})", words(fault), thrown.what()));
  }
}

}  // namespace

Result<void> quick_check(Connection& connection) {
  try {
    const auto found = findings(connection.database(), "PRAGMA quick_check(5)");
    if (found.empty()) return {};
    return invalid(fmt::format(
        "{} is damaged ({}): stop setwelld, move it away with the files {}-wal and {}-shm, "
        "then put the newest backup in its place",
        connection.file().string(), found, connection.file().string(), connection.file().string()));
  } catch (const SQLite::Exception& thrown) {
    if (storage_fault(thrown) != StorageFault::damaged) throw;
    return explained(connection.file(), "ledger", thrown);
  }
}

Result<void> back_up(Connection& connection, const fs::path& file, const std::atomic<bool>* give_up) {
  std::error_code error;
  if (fs::exists(file, error))
    return refused(fmt::format("{} exists already: name another file", file.string()));
  if (!fs::is_directory(folder_of(file), error))
    return not_found(fmt::format("there is no folder {}", folder_of(file).string()));
  auto part = file;
  part += ".part";
  fs::remove(part, error);
  auto done = back_up_through(connection, part, file, give_up);
  fs::remove(part, error);
  return done;
}

Result<void> Ledger::quick_check() const {
  return ledger::quick_check(*connection_);
}

LogCheckpoint Ledger::checkpoint_wal() {
  auto& database = connection_->database();
  database.setBusyTimeout(0);
  const int outcome =
      sqlite3_wal_checkpoint_v2(database.getHandle(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr);
  database.setBusyTimeout(kBusyTimeoutMs);
  if (outcome == SQLITE_BUSY || outcome == SQLITE_LOCKED) return LogCheckpoint::busy;
  if (outcome != SQLITE_OK) throw SQLite::Exception(database.getHandle(), outcome);
  return LogCheckpoint::emptied;
}

void Ledger::give_back(int pages) {
  connection_->script(fmt::format("PRAGMA incremental_vacuum({})", pages));
}

Sizes Ledger::sizes() const {
  const auto page = connection_->number("PRAGMA page_size");
  Sizes sizes;
  sizes.database = page * connection_->number("PRAGMA page_count");
  sizes.unused = page * connection_->number("PRAGMA freelist_count");
  auto log = connection_->file();
  log += "-wal";
  std::error_code error;
  const auto bytes = fs::file_size(log, error);
  if (!error) sizes.log = static_cast<std::int64_t>(bytes);
  return sizes;
}

}  // namespace setwell::ledger
