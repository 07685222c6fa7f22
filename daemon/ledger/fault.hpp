#pragma once

#include <exception>
#include <string_view>

/// The workshop's memory: two SQLite files, and the only place where SQL is written.
///
/// What may be expected (a file that is not ours, a newer database, the other mode) is a Result. Everything
/// else that SQLite refuses is a broken machine and leaves as an exception (SQLite's own, derived from
/// std::runtime_error) out of any function here, after which the transaction it happened in is gone. Whoever
/// catches it at a boundary asks `storage_fault` what it was and whether waiting helps.
namespace setwell::ledger {

enum class StorageFault {
  none,     ///< not a fault of the storage at all
  busy,     ///< another process holds the database; passes
  full,     ///< the disk is full; passes when space is made
  io,       ///< the disk refused to read or write; may pass
  damaged,  ///< the file is not a sound database: restore a backup
  other,
};

/// What an exception out of this folder means.
[[nodiscard]] StorageFault storage_fault(const std::exception& thrown);

/// `the disk is full`, …, for a person; empty for `none`.
[[nodiscard]] std::string_view words(StorageFault fault);

}  // namespace setwell::ledger
