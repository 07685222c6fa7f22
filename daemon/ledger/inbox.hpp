#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <vector>

#include "daemon/ledger/fault.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/mqtt/keeper.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::ledger {

/// How an inbox keeps.
struct InboxOptions {
  /// Messages are kept this long after they came in, and until they are taken.
  std::chrono::days keep_for{14};
  /// Set aside beside the database, to be let go when the disk is full; 0 = none.
  std::int64_t reserve_bytes = std::int64_t{4} * 1024 * 1024;
  /// Rung after each commit; may be null. Must outlive the inbox.
  mqtt::Wake* wake = nullptr;
  /// How to wait between attempts; empty = the real way.
  std::function<void(std::chrono::milliseconds)> sleep;
};

/// Every message exactly as it came, in a file of its own, written before it is acknowledged.
/// Thread: `open` and the destructor on any, while nobody calls `keep`; `keep` on the MQTT library's thread;
/// the counters and `tell_taken` on any.
class Inbox : public mqtt::Keeper {
 public:
  /// Opens or makes the file; its folder must exist. Fails like Ledger::open.
  [[nodiscard]] static quantity::Result<std::unique_ptr<Inbox>> open(const std::filesystem::path& file,
                                                                     InboxOptions options);
  ~Inbox() override;

  /// Commits the message, then returns. Whatever the storage refuses is tried again for ever, with pauses
  /// that grow from 10 ms to 5 s; a full disk first gets the reserve. Payloads are cut to
  /// decode::kLargestPayload. After its commit, once a minute by the messages' own receive times, forgets at
  /// most 50 messages that are taken and older than `keep_for`.
  void keep(const decode::RawMessage& message) noexcept override;

  /// The loop has made what there was to make of all rows up to this one, and has committed that.
  void tell_taken(std::int64_t row) noexcept { taken_upto_.store(row); }

  /// Chosen at random when the file was made.
  [[nodiscard]] std::uint64_t generation() const { return generation_; }
  /// The greatest connection number any kept message had when this was opened; the next connection is one
  /// more.
  [[nodiscard]] std::int64_t last_connection() const { return last_connection_; }

  [[nodiscard]] std::uint64_t kept() const noexcept { return kept_.load(); }  ///< since opened
  /// Whether `keep` is being refused by the storage right now, and by what.
  [[nodiscard]] bool waiting_for_storage() const noexcept { return fault_.load() != StorageFault::none; }
  [[nodiscard]] StorageFault fault() const noexcept { return fault_.load(); }

 private:
  struct Store;
  Inbox(std::unique_ptr<Store> store, InboxOptions options);
  void prune_after(const decode::RawMessage& message) noexcept;

  std::unique_ptr<Store> store_;
  InboxOptions options_;
  std::uint64_t generation_ = 0;
  std::int64_t last_connection_ = 0;
  quantity::Instant pruned_{};
  std::atomic<std::int64_t> taken_upto_{0};
  std::atomic<std::uint64_t> kept_{0};
  std::atomic<StorageFault> fault_{StorageFault::none};
};

/// The loop's view of the inbox, over a connection that only reads. Thread: loop only. Any function may throw
/// as `fault.hpp` says.
class InboxReader {
 public:
  /// The file must be there (an Inbox makes it). Fails like Ledger::open.
  [[nodiscard]] static quantity::Result<InboxReader> open(const std::filesystem::path& file);
  InboxReader(InboxReader&&) noexcept;
  InboxReader& operator=(InboxReader&&) noexcept;
  ~InboxReader();

  [[nodiscard]] std::uint64_t generation() const;
  /// The rows behind `after_row`, in order, at most `limit`.
  [[nodiscard]] std::vector<decode::RawMessage> read(std::int64_t after_row, int limit) const;
  /// The last rows, in order, of the last connection before this one that left any.
  [[nodiscard]] std::vector<decode::RawMessage> previous_connection_tail(std::int64_t connection,
                                                                         int limit = 20) const;
  /// 0 when nothing was ever kept.
  [[nodiscard]] std::int64_t newest_row() const;

 private:
  struct View;
  explicit InboxReader(std::unique_ptr<View> view);
  std::unique_ptr<View> view_;
};

}  // namespace setwell::ledger
