#pragma once

#include <atomic>
#include <filesystem>
#include <functional>

#include <boost/asio/thread_pool.hpp>

#include "daemon/ledger/read_only_ledger.hpp"

namespace setwell::app {

/// The thread for what reads for long: one job after the other, on connections that only read.
class Reader {
 public:
  explicit Reader(std::filesystem::path ledger);
  /// Waits for the job under way.
  ~Reader();
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  [[nodiscard]] boost::asio::thread_pool& pool() { return pool_; }
  /// Thread: the reader's. Opened for each job: nothing of a big one stays in memory.
  [[nodiscard]] quantity::Result<ledger::ReadOnlyLedger> records() const;
  /// Thread: any. The job under way ends with an exception soon, and those after it at once.
  void give_up() { given_up_ = true; }

 private:
  std::filesystem::path ledger_;
  std::atomic<bool> given_up_ = false;
  boost::asio::thread_pool pool_{1};
};

/// Examines the records on the reader. `found` is called there, with what is wrong; never when all is well or
/// the reader gave up.
void examine_on(Reader& reader, std::function<void(const quantity::Error&)> found);

}  // namespace setwell::app
