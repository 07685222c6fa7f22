#include "daemon/ledger/fault.hpp"

#include <SQLiteCpp/Exception.h>
#include <sqlite3.h>

#include "daemon/ledger/connection.hpp"

namespace setwell::ledger {

StorageFault fault_of_code(int code) {
  switch (code & 0xff) {
    case SQLITE_OK:
      return StorageFault::none;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return StorageFault::busy;
    case SQLITE_FULL:
      return StorageFault::full;
    case SQLITE_IOERR:
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
      return StorageFault::io;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return StorageFault::damaged;
    default:
      return StorageFault::other;
  }
}

StorageFault storage_fault(const std::exception& thrown) {
  const auto* refused = dynamic_cast<const SQLite::Exception*>(&thrown);
  if (refused == nullptr) return StorageFault::none;
  const auto fault = fault_of_code(refused->getErrorCode());
  return fault == StorageFault::none ? StorageFault::other : fault;
}

std::string_view words(StorageFault fault) {
  switch (fault) {
    case StorageFault::none:
      return "";
    case StorageFault::busy:
      return "another process holds the database";
    case StorageFault::full:
      return "the disk is full";
    case StorageFault::io:
      return "the disk refuses to read or write";
    case StorageFault::damaged:
      return "the database is damaged";
    case StorageFault::other:
      return "the database refuses";
  }
  return "";
}

}  // namespace setwell::ledger
