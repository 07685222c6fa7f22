#pragma once

#include <filesystem>

#include "sensors/quantity/error.hpp"

namespace setwell::runtime {

/// Makes sure that one daemon alone works on a state folder: an advisory lock on a file in it, held as long
/// as this lives and let go by the kernel however the process ends. The file stays and says the holder's pid.
class InstanceLock {
 public:
  /// Takes the lock on `file`, which is made if need be (its folder is not). Error refused: another process
  /// holds it ("already running (pid N) …"), or the file cannot be opened, with the reason.
  [[nodiscard]] static quantity::Result<InstanceLock> take(const std::filesystem::path& file);

  InstanceLock(InstanceLock&& other) noexcept;
  InstanceLock& operator=(InstanceLock&& other) noexcept;
  ~InstanceLock();

 private:
  explicit InstanceLock(int file) : file_(file) {}

  int file_;
};

}  // namespace setwell::runtime
