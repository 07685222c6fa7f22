#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include <sqlite3.h>

/// A disk between SQLite and the file system that can refuse, and that knows what would be left if the power
/// went. While one lives, every database opened in this process goes through it; one at a time, one thread.
namespace setwell::test_support {

class ShimDisk {
 public:
  ShimDisk();
  ~ShimDisk();
  ShimDisk(const ShimDisk&) = delete;
  ShimDisk& operator=(const ShimDisk&) = delete;

  /// From now on the `nth` call that reads, writes, cuts, flushes, opens or deletes (1 = the next) answers
  /// `code`, and so do the `more` calls after it.
  void fail_at(std::int64_t nth, int code, std::int64_t more = 0);
  void heal();
  /// Whether a call was refused since the last `fail_at`.
  [[nodiscard]] bool refused() const { return refused_; }
  /// Calls since the shim was made.
  [[nodiscard]] std::int64_t calls() const { return calls_; }
  /// Called before each call, with its number.
  std::function<void(std::int64_t)> before_call;

  /// Writes to `folder` what of every file would be there if the power went now: what was flushed, and of the
  /// writes after it those that `survives` says yes to (asked once for each, in order). A file that was
  /// deleted is gone, one that was made is there.
  using Survives = std::function<bool()>;
  void lose_power(const std::filesystem::path& folder, const Survives& survives) const;

  // For SQLite's side, which is a table of C functions.
  struct Change {
    enum class Kind { write, truncate } kind = Kind::write;
    std::int64_t offset = 0;  ///< of a write; of a truncate the new size
    std::string bytes;
  };
  struct Disk {
    std::string flushed;            ///< the bytes at the last flush
    std::vector<Change> unflushed;  ///< what came after it
  };
  [[nodiscard]] int meets_fault();
  [[nodiscard]] Disk* disk_of(const std::string& path) { return &disks_[path]; }
  void forget(const std::string& path) { disks_.erase(path); }
  [[nodiscard]] sqlite3_vfs* below() const { return below_; }

 private:
  std::map<std::string, Disk> disks_;
  sqlite3_vfs* below_ = nullptr;
  std::unique_ptr<sqlite3_vfs> shim_;
  std::int64_t calls_ = 0;
  std::int64_t first_refused_ = 0;
  std::int64_t last_refused_ = -1;
  int code_ = 0;
  bool refused_ = false;
};

}  // namespace setwell::test_support
